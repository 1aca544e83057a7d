package scpi

import (
	"fmt"
	"strings"
)

// Unit is one unit of a program message: a header and its parameters.
type Unit struct {
	Header string   // upper case, from the root, without leading colon and "?"
	Query  bool     // the header ended in "?"
	Args   []string // strings without their quotes
}

// ParseMessage splits a message, without its line feed, into units, with their
// headers completed from the root: after ";" a header without leading colon
// stands beside the one before it (VOLT:RANG 1;NPLC 10), and common commands (*)
// leave the place as it is (from memory). An empty message has no units.
func ParseMessage(line string) ([]Unit, error) {
	var out []Unit
	path := ""
	for _, part := range splitOutside(line, ';') {
		part = trimWhite(part)
		if part == "" {
			continue
		}
		header, rest := part, ""
		if i := strings.IndexFunc(part, white); i >= 0 {
			header, rest = part[:i], trimWhite(part[i:])
		}
		u := Unit{Query: strings.HasSuffix(header, "?")}
		header = strings.ToUpper(strings.TrimSuffix(header, "?"))
		if strings.HasPrefix(header, "*") {
			u.Header = header
		} else {
			if !strings.HasPrefix(header, ":") {
				header = path + ":" + header
			}
			u.Header = strings.TrimPrefix(header, ":")
			path = ""
			if i := strings.LastIndexByte(u.Header, ':'); i >= 0 {
				path = ":" + u.Header[:i]
			}
		}
		if !headerOK(u.Header) {
			return nil, fmt.Errorf("header %s; letters, digits and colons are accepted", quoted(part))
		}
		if rest != "" {
			for _, a := range splitOutside(rest, ',') {
				u.Args = append(u.Args, unquote(trimWhite(a)))
			}
		}
		out = append(out, u)
	}
	return out, nil
}

// white tells white space of IEEE 488.2: codes 0 to 32 except line feed.
func white(r rune) bool { return r >= 0 && r <= ' ' && r != '\n' }

func trimWhite(s string) string { return strings.TrimFunc(s, white) }

// splitOutside splits at a separator that does not stand within quotes.
func splitOutside(s string, sep byte) []string {
	var out []string
	quote, from := byte(0), 0
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case quote != 0:
			if c == quote {
				quote = 0 // a doubled quote opens again at once
			}
		case c == '"' || c == '\'':
			quote = c
		case c == sep:
			out = append(out, s[from:i])
			from = i + 1
		}
	}
	return append(out, s[from:])
}

func headerOK(h string) bool {
	body := strings.TrimPrefix(h, "*")
	if body == "" {
		return false
	}
	for _, node := range strings.Split(body, ":") {
		if node == "" {
			return false
		}
		for _, r := range node {
			if !(r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_') {
				return false
			}
		}
	}
	return true
}

// Match tells whether a header is the one that a pattern names. A pattern shows
// each keyword in its long form with the short form in capitals, and in brackets
// what may be left out: "[SENSe:]VOLTage[:DC]:NPLCycles". Only the long form and
// the short form are taken, nothing between.
func Match(pattern, header string) bool {
	for _, p := range variants(pattern) {
		if matchNodes(strings.Split(p, ":"), strings.Split(header, ":")) {
			return true
		}
	}
	return false
}

// variants writes a pattern out with and without each bracket.
func variants(pattern string) []string {
	open := strings.IndexByte(pattern, '[')
	end := strings.IndexByte(pattern, ']')
	if open < 0 || end < open {
		return []string{pattern}
	}
	before, inside := pattern[:open], pattern[open+1:end]
	var out []string
	for _, after := range variants(pattern[end+1:]) {
		out = append(out, before+inside+after, before+after)
	}
	return out
}

func matchNodes(pattern, header []string) bool {
	if len(pattern) != len(header) {
		return false
	}
	for i, p := range pattern {
		short := strings.TrimRightFunc(p, func(r rune) bool { return r >= 'a' && r <= 'z' })
		if h := header[i]; h != strings.ToUpper(p) && h != short {
			return false
		}
	}
	return true
}

// Sourcing tells whether a message holds a command by which an instrument puts
// out voltage or current, forgets its calibration, or is set back so that a
// current path may open: a program that only measures sends none of them.
// header names the first one.
func Sourcing(message string) (header string, is bool) {
	units, err := ParseMessage(message)
	if err != nil {
		return "", false
	}
	for _, u := range units {
		first, _, _ := strings.Cut(u.Header, ":")
		first = strings.TrimRight(first, "0123456789")
		for _, p := range []string{"OUTPut", "SOURce", "INSTrument", "CALibration", "DIAGnostic", "*RST", "*SAV", "*RCL", "*DMC"} {
			if Match(p, first) && !u.Query {
				return u.Header, true
			}
		}
	}
	return "", false
}
