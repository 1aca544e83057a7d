package logfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// HeadBytes is how much of a file Detect looks at.
const HeadBytes = 256 << 10

// maxPreamble is how many lines may precede the table within the head; common practice, no source.
const maxPreamble = 400

// Hints fix parts of the detection; what is left at its zero value is found.
type Hints struct {
	Encoding  string
	Delimiter string
	Decimal   string
	FirstData int    // line of the first data row
	Header    int    // line of the header; −1 for none
	Layout    Layout // with Wide the columns of a headerless table are kept apart
	Time      int    // one more than the time column; −1 for none
	Kind      TimeKind
	Order     string // of dates
}

// A Finding explains one field of the profile.
type Finding struct {
	Field string `json:"field"`
	Value string `json:"value"`
	Why   string `json:"why"`
	Ask   bool   `json:"ask,omitempty"` // the file doesn't settle it: a person should
}

// A Detection is what was found about a file, before it is read.
type Detection struct {
	Profile  Profile           `json:"profile"`
	BOM      bool              `json:"bom"`
	Findings []Finding         `json:"findings"`
	Preamble []string          `json:"preamble,omitempty"` // lines before the header, as written
	Facts    map[string]string `json:"facts,omitempty"`    // "key: value" pairs of the preamble
	Decimals []int             `json:"decimals"`           // most digits behind the decimal mark, by column; −1 for none
	Complete bool              `json:"complete"`           // the whole file was looked at

	text  []byte
	lines [][]byte
	first int // index of the first data line
}

// Detect looks at the beginning of a log and proposes how to read it. The reader it returns hands out
// the whole of r from its first byte, for Import.
func Detect(r io.Reader, h Hints) (*Detection, io.Reader, error) {
	head := make([]byte, HeadBytes)
	n, err := io.ReadFull(r, head)
	head = head[:n]
	complete := errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
	if err != nil && !complete {
		return nil, nil, fmt.Errorf("reading log: %w", err)
	}
	d, err := detect(head, complete, h)
	if err != nil {
		return nil, nil, fmt.Errorf("log not understood: %w", err)
	}
	return d, io.MultiReader(bytes.NewReader(head), r), nil
}

func detect(head []byte, complete bool, h Hints) (*Detection, error) {
	if len(head) == 0 {
		return nil, errors.New("the file is empty")
	}
	d := &Detection{Complete: complete, Facts: map[string]string{}}
	p := &d.Profile
	var err error
	if p.Encoding, d.BOM, err = guessEncoding(head, complete); err != nil {
		return nil, err
	}
	if h.Encoding != "" {
		p.Encoding = h.Encoding
	}
	if err := d.decode(head); err != nil {
		return nil, err
	}
	t, err := d.findTable(h)
	if err != nil {
		return nil, err
	}
	d.first = t.first
	p.FirstData = t.first + 1
	d.findHeader(t, h)
	if err := d.commaTwice(t, h); err != nil {
		return nil, err
	}
	d.preamble()
	d.columns(t)
	d.findTime(t, h)
	d.findLayout(t, h)
	d.finish(t)
	if err := p.Validate(); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Detection) say(field, value, why string, args ...any) {
	d.Findings = append(d.Findings, Finding{Field: field, Value: value, Why: fmt.Sprintf(why, args...)})
}

func (d *Detection) ask(field, value, why string, args ...any) {
	d.Findings = append(d.Findings, Finding{Field: field, Value: value, Why: fmt.Sprintf(why, args...), Ask: true})
}

// said reports whether a field has been explained.
func (d *Detection) said(field string) bool {
	return slices.ContainsFunc(d.Findings, func(f Finding) bool { return f.Field == field })
}

// decode turns the head into lines of UTF-8; a last line that may be cut is left out.
func (d *Detection) decode(head []byte) error {
	p := &d.Profile
	r, err := decode(bytes.NewReader(head), p.Encoding, LF)
	if err != nil {
		return err
	}
	if d.text, err = io.ReadAll(r); err != nil {
		return err
	}
	p.Newline = guessNewline(d.text)
	if p.Newline == CR {
		d.text = bytes.ReplaceAll(d.text, []byte{'\r'}, []byte{'\n'})
	}
	text := d.text
	if !d.Complete {
		i := bytes.LastIndexByte(text, '\n')
		if i < 0 {
			return fmt.Errorf("no line end in the first %d bytes", len(head))
		}
		text = text[:i]
	}
	d.lines = bytes.Split(bytes.TrimRight(text, "\n\x00\x1a"), []byte{'\n'})
	why := "valid as such, no byte order mark"
	if d.BOM {
		why = "byte order mark"
	} else if p.Encoding == Windows1252 {
		why = "not valid UTF-8; names may be misread, numbers not"
	} else if p.Encoding != UTF8 {
		why = "every second byte is zero"
	}
	d.say("encoding", p.Encoding, "%s", why)
	d.say("newline", p.Newline, "most lines end so")
	return nil
}

// preamble keeps what stands before the table.
func (d *Detection) preamble() {
	p := &d.Profile
	end := d.first
	if p.Header > 0 {
		end = p.Header - 1
	}
	for _, line := range d.lines[:end] {
		text := strings.TrimRight(string(line), "\r ")
		d.Preamble = append(d.Preamble, text)
		if p.Comment != "" {
			text = strings.TrimSpace(strings.TrimPrefix(text, p.Comment))
		}
		for _, sep := range []string{p.Delimiter, ":", "=", "\t", ",", ";"} {
			key, value, ok := strings.Cut(text, sep)
			value = strings.Trim(value, " "+p.Delimiter)
			if ok && strings.TrimSpace(key) != "" && value != "" {
				d.Facts[strings.Trim(key, ` "`)] = strings.Trim(value, `"`)
				break
			}
		}
	}
	if n := len(d.Preamble); n > 0 {
		d.say("preamble", fmt.Sprint(n), "%d lines before the table are kept as they are", n)
	}
}
