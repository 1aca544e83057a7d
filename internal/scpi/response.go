package scpi

import (
	"bufio"
	"errors"
	"fmt"
	"io"
)

// ErrTooLong says that a response was longer than was to be taken: a meter that
// floods. What follows on that link can no longer be told apart.
var ErrTooLong = errors.New("the response does not end")

// ReadResponse reads one response up to its line feed, which is left out, along
// with a carriage return before it. A response that begins with a definite block
// (#15HELLO; IEEE 488.2, 8.7.9, from memory) is read by its count, since a block
// may hold line feeds, and its content returned without the frame. most bounds
// the bytes.
//
// When the link ends in mid-line the half line is returned with
// io.ErrUnexpectedEOF: half a number reads as another number.
func ReadResponse(r *bufio.Reader, most int) (string, error) {
	first, err := r.Peek(1)
	if err != nil {
		return "", err
	}
	if first[0] == '#' {
		return readBlock(r, most)
	}
	var line []byte
	for {
		part, err := r.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > most:
			return "", fmt.Errorf("%d bytes without an end: %w", len(line), ErrTooLong)
		case err == nil:
			return trimEnd(line), nil
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && len(line) > 0:
			return string(line), fmt.Errorf("half a line, %s: %w", quoted(string(line)), io.ErrUnexpectedEOF)
		}
		return string(line), err
	}
}

func trimEnd(line []byte) string {
	n := len(line)
	if n > 0 && line[n-1] == '\n' {
		n--
	}
	for n > 0 && line[n-1] == '\r' {
		n--
	}
	return string(line[:n])
}

// readBlock reads "#", the count of digits, the digits, the bytes, and the line
// feed behind them. "#0" opens a block without count, which a link without an
// end-of-message mark cannot delimit: it is refused.
func readBlock(r *bufio.Reader, most int) (string, error) {
	head := make([]byte, 2)
	if _, err := io.ReadFull(r, head); err != nil {
		return "", err
	}
	if head[1] < '1' || head[1] > '9' {
		return "", fmt.Errorf("block %q; # with a digit 1 to 9 is accepted", head)
	}
	count := make([]byte, head[1]-'0')
	if _, err := io.ReadFull(r, count); err != nil {
		return "", err
	}
	n := 0
	for _, c := range count {
		if c < '0' || c > '9' {
			return "", fmt.Errorf("block length %q; digits are accepted", count)
		}
		n = n*10 + int(c-'0')
	}
	if n > most {
		return "", fmt.Errorf("a block of %d bytes: %w", n, ErrTooLong)
	}
	body := make([]byte, n)
	if _, err := io.ReadFull(r, body); err != nil {
		return "", err
	}
	rest, err := r.ReadSlice('\n')
	if err != nil {
		return "", err
	}
	if trimEnd(rest) != "" {
		return "", fmt.Errorf("%s behind a block; a line feed is accepted", quoted(string(rest)))
	}
	return string(body), nil
}
