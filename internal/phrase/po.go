package phrase

import (
	"fmt"
	"strconv"
	"strings"
)

// Catalogue is a language's file.
type Catalogue struct {
	Head    map[string]string
	Entries []Entry
}

// Entry is one message with what is said for it. Several and SeveralSaid are
// its form for any number but one, where it has one.
type Entry struct {
	Message, Several  string
	Said, SeveralSaid string
	Line              int
}

// ReadPO reads the part of the PO form that is used here: comments, msgid,
// msgid_plural, msgstr and msgstr[0] and [1], each a string or several of them,
// one below the other. The entry with an empty msgid is the head. Errors name
// the line.
func ReadPO(text string) (*Catalogue, error) {
	c := &Catalogue{Head: map[string]string{}}
	var e *Entry
	var into *string
	seen := map[string]int{}
	finish := func() error {
		if e == nil {
			return nil
		}
		done := *e
		e, into = nil, nil
		if done.Message == "" {
			for _, line := range strings.Split(done.Said, "\n") {
				if key, value, ok := strings.Cut(line, ": "); ok {
					c.Head[key] = value
				}
			}
			return nil
		}
		if at, twice := seen[done.Message]; twice {
			return fmt.Errorf("line %d: %q was translated in line %d", done.Line, done.Message, at)
		}
		seen[done.Message] = done.Line
		c.Entries = append(c.Entries, done)
		return nil
	}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		key, quoted := "", line
		if line[0] != '"' {
			var ok bool
			if key, quoted, ok = strings.Cut(line, " "); !ok {
				return nil, fmt.Errorf("line %d: a keyword and a string are accepted", i+1)
			}
		}
		s, err := strconv.Unquote(strings.TrimSpace(quoted))
		if err != nil || strings.TrimSpace(quoted)[0] != '"' {
			return nil, fmt.Errorf("line %d: a string in double quotes is accepted", i+1)
		}
		if key == "msgid" {
			if err := finish(); err != nil {
				return nil, err
			}
			e = &Entry{Line: i + 1}
		}
		if e == nil {
			return nil, fmt.Errorf("line %d: msgid is accepted first", i+1)
		}
		switch key {
		case "":
			if into == nil {
				return nil, fmt.Errorf("line %d: a string without a keyword", i+1)
			}
			*into += s
			continue
		case "msgid":
			into = &e.Message
		case "msgid_plural":
			into = &e.Several
		case "msgstr", "msgstr[0]":
			into = &e.Said
		case "msgstr[1]":
			into = &e.SeveralSaid
		default:
			return nil, fmt.Errorf("line %d: %s: msgid, msgid_plural, msgstr, msgstr[0] or msgstr[1] is accepted", i+1, key)
		}
		if *into != "" {
			return nil, fmt.Errorf("line %d: %s twice", i+1, key)
		}
		*into = s
	}
	return c, finish()
}
