package logfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// Encodings a log may be written in. Everything behind decode is UTF-8.
const (
	UTF8        = "utf-8"
	UTF16LE     = "utf-16le"
	UTF16BE     = "utf-16be"
	Windows1252 = "windows-1252"
)

// Line ends. A lone CR is turned into LF; CR LF and CR CR LF are read as LF with blanks before it.
const (
	LF   = "lf"
	CRLF = "crlf"
	CR   = "cr"
)

// guessEncoding tells the encoding of the first bytes of a file. Text without a byte order mark is
// UTF-16 when nearly every second byte is zero, UTF-8 when it is valid, Windows-1252 otherwise.
func guessEncoding(head []byte, complete bool) (encoding string, bom bool, err error) {
	switch {
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		return UTF8, true, nil
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		return UTF16LE, true, nil
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return UTF16BE, true, nil
	}
	var even, odd, control int
	first := -1
	for i, c := range head {
		switch {
		case c == 0 && i%2 == 0:
			even++
		case c == 0:
			odd++
		case c < 0x20 && c != '\t' && c != '\n' && c != '\r' && c != '\f' && c != 0x1A || c == 0x7F:
			control++
			if first < 0 {
				first = i
			}
		}
	}
	half := len(head) / 2
	switch {
	case half > 0 && odd*10 >= half*7 && even*10 < half*3:
		return UTF16LE, false, nil
	case half > 0 && even*10 >= half*7 && odd*10 < half*3:
		return UTF16BE, false, nil
	}
	// A logger that lost power leaves zeros behind its last line; those are no sign of binary data.
	body := bytes.TrimRight(head, "\x00\x1a")
	if i := bytes.IndexByte(body, 0); i >= 0 && bytes.Count(body, []byte{0})*50 > len(body) {
		return "", false, fmt.Errorf("not a text file: zero byte at offset %d", i)
	}
	if control*20 > len(body) {
		return "", false, fmt.Errorf("not a text file: control byte 0x%02x at offset %d", head[first], first)
	}
	if len(body) == 0 && len(head) > 0 {
		return "", false, errors.New("not a text file: nothing but zero bytes")
	}
	if !complete { // the last character may have been cut
		for i := 0; i < utf8.UTFMax-1 && len(body) > 0 && !utf8.Valid(body); i++ {
			body = body[:len(body)-1]
		}
	}
	if utf8.Valid(body) {
		return UTF8, false, nil
	}
	return Windows1252, false, nil
}

// guessNewline tells the line end of decoded text.
func guessNewline(text []byte) string {
	lf, cr := bytes.Count(text, []byte{'\n'}), bytes.Count(text, []byte{'\r'})
	switch {
	case lf == 0 && cr > 0:
		return CR
	case cr > 0 && cr*2 >= lf:
		return CRLF
	}
	return LF
}

// decode returns r as UTF-8 without a byte order mark, lines ended by LF.
func decode(r io.Reader, encoding, newline string) (io.Reader, error) {
	switch encoding {
	case UTF8, "":
		r = &skipBOM{r: r}
	case UTF16LE, UTF16BE:
		r = &transcoder{r: bufio.NewReaderSize(r, 1<<16), next: utf16Unit(encoding == UTF16BE)}
	case Windows1252:
		r = &transcoder{r: bufio.NewReaderSize(r, 1<<16), next: latinUnit}
	default:
		return nil, fmt.Errorf("encoding %q: accepted are %s, %s, %s, %s", encoding, UTF8, UTF16LE, UTF16BE, Windows1252)
	}
	if newline == CR {
		r = &loneCR{r}
	}
	return r, nil
}

// skipBOM drops the three bytes EF BB BF at the start.
type skipBOM struct {
	r       io.Reader
	started bool
}

func (s *skipBOM) Read(p []byte) (int, error) {
	if s.started || len(p) < 3 {
		return s.r.Read(p)
	}
	s.started = true
	n, err := io.ReadFull(s.r, p[:3])
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = io.EOF
	}
	if n == 3 && bytes.Equal(p[:3], []byte{0xEF, 0xBB, 0xBF}) {
		return s.r.Read(p)
	}
	if n > 0 && errors.Is(err, io.EOF) {
		err = nil
	}
	return n, err
}

// A transcoder reads code units and hands out UTF-8.
type transcoder struct {
	r       *bufio.Reader
	next    func(*bufio.Reader) (rune, error)
	started bool
	err     error
}

func (t *transcoder) Read(p []byte) (int, error) {
	if len(p) < utf8.UTFMax {
		return 0, io.ErrShortBuffer
	}
	n := 0
	for t.err == nil && n+utf8.UTFMax <= len(p) {
		var c rune
		if c, t.err = t.next(t.r); t.err != nil {
			break
		}
		if !t.started {
			t.started = true
			if c == 0xFEFF {
				continue
			}
		}
		n += utf8.EncodeRune(p[n:], c)
	}
	if n > 0 {
		return n, nil
	}
	return 0, t.err
}

// utf16Unit reads one character; an unpaired surrogate becomes U+FFFD, half a unit at the end of
// the file is dropped.
func utf16Unit(big bool) func(*bufio.Reader) (rune, error) {
	unit := func(b []byte) rune {
		if big {
			return rune(b[0])<<8 | rune(b[1])
		}
		return rune(b[1])<<8 | rune(b[0])
	}
	return func(r *bufio.Reader) (rune, error) {
		b, err := r.Peek(2)
		if len(b) < 2 {
			r.Discard(len(b))
			return 0, err
		}
		hi := unit(b)
		r.Discard(2)
		if hi < 0xD800 || hi > 0xDFFF {
			return hi, nil
		}
		if hi < 0xDC00 {
			if b, _ := r.Peek(2); len(b) == 2 {
				if lo := unit(b); lo >= 0xDC00 && lo <= 0xDFFF {
					r.Discard(2)
					return (hi-0xD800)<<10 + (lo - 0xDC00) + 0x10000, nil
				}
			}
		}
		return utf8.RuneError, nil
	}
}

// latinUnit reads one Windows-1252 byte.
func latinUnit(r *bufio.Reader) (rune, error) {
	c, err := r.ReadByte()
	if err != nil {
		return 0, err
	}
	if c >= 0x80 && c < 0xA0 {
		return windows1252[c-0x80], nil
	}
	return rune(c), nil
}

// windows1252 is the part of the code page that differs from Latin-1; read only.
var windows1252 = [32]rune{
	'€', utf8.RuneError, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', utf8.RuneError, 'Ž', utf8.RuneError,
	utf8.RuneError, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', utf8.RuneError, 'ž', 'Ÿ',
}

// loneCR turns each CR into LF.
type loneCR struct{ r io.Reader }

func (l *loneCR) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	for i, c := range p[:n] {
		if c == '\r' {
			p[i] = '\n'
		}
	}
	return n, err
}
