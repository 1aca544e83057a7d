package studyfile

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/token"
)

// MaxSize is how many bytes a file may have.
const MaxSize = 4 << 20

// The limits of a file. They and MaxSize are far above any study a person writes
// (ten boards of twelve rails in a hundred states stay below 1 MiB), and low
// enough that nonsense is refused in a moment.
const (
	maxDepth = 64   // mappings and lists inside one another
	maxKeys  = 5000 // keys of one mapping: the YAML parser's time grows with their square
	maxEmpty = 250  // keys and dashes with nothing behind them: each costs the parser a copy of the file
)

// complaint is a fault that is found before there are keys to name a field by.
type complaint struct {
	spot            spot
	message, accept string
}

const oversizeAccept = "traces and photographs beside the study, not in it"

// oversize is the message about a file of n bytes.
func oversize(n int64) string {
	return fmt.Sprintf("the file has %d bytes; a study has at most %d MiB", n, MaxSize>>20)
}

// guardBytes refuses what is not text in UTF-8, and returns the text with its
// line ends made alike. The spot is where the trouble starts.
func guardBytes(src []byte) (string, *complaint) {
	if len(src) > MaxSize {
		return "", &complaint{spot{1, 1}, oversize(int64(len(src))), oversizeAccept}
	}
	for _, bom := range []string{"\xff\xfe", "\xfe\xff"} {
		if bytes.HasPrefix(src, []byte(bom)) {
			return "", &complaint{spot{1, 1}, "the file is UTF-16", "UTF-8; save it again in that encoding"}
		}
	}
	src = bytes.TrimPrefix(src, []byte("\ufeff"))
	text := string(src)
	line, col, indent, run := 1, 1, true, 0
	for i := 0; i < len(text); {
		c, n := utf8.DecodeRuneInString(text[i:])
		bad := func(format string, a ...any) *complaint {
			return &complaint{spot{line, col}, fmt.Sprintf(format, a...), "text in UTF-8"}
		}
		switch {
		case c == utf8.RuneError && n == 1:
			return "", bad("byte 0x%02x is not UTF-8 text", text[i])
		case c == '\t' && indent:
			return "", &complaint{spot{line, col}, "a tab stands in the indentation", "spaces"}
		case c == '\r' && i+1 < len(text) && text[i+1] == '\n':
			i++
			continue
		case c < ' ' && c != '\n' && c != '\t' || c == 0x7f || c == 0x85 || c == 0x2028 || c == 0x2029 || c == 0xfeff:
			return "", bad("character %U has no place in a study", c)
		}
		if c == '[' || c == '{' {
			if run++; run > maxDepth {
				return "", &complaint{spot{line, col}, fmt.Sprintf("brackets are nested more than %d deep", maxDepth), ""}
			}
		} else if c != ' ' && c != '\n' {
			run = 0
		}
		i += n
		col++
		indent = indent && c == ' '
		if c == '\n' {
			line, col, indent = line+1, 1, true
		}
	}
	return strings.ReplaceAll(text, "\r\n", "\n"), nil
}

// refused are the parts of YAML that a study does not use, by the token that
// begins them.
var refused = map[token.Type][2]string{
	token.AnchorType:     {"& begins an anchor, which a study does not use", "the text in quotes"},
	token.AliasType:      {"* begins an alias, which a study does not use", "the text in quotes"},
	token.TagType:        {"! begins a tag, which a study does not use", "the text in quotes"},
	token.MergeKeyType:   {"<< merges mappings, which a study does not use", "what is meant, written out; defaults serve a board's rails"},
	token.DirectiveType:  {"% at the beginning of a line is a YAML directive, which a study does not use", "the text in quotes"},
	token.MappingKeyType: {"? begins a complex key, which a study does not use", "the text in quotes"},
}

// guardTokens refuses depth and size that would hurt the parser, and the parts
// of YAML that are refused; it does so on the flat list of tokens.
func guardTokens(tokens token.Tokens) *complaint {
	type level struct{ col, keys int }
	var block []level
	flow := make([]int, 0, maxDepth) // keys of each open bracket
	ended := false
	nothing := 0
	for i, t := range tokens {
		at := spotOf(t)
		if leavesOut(tokens, i) {
			if nothing++; nothing > maxEmpty {
				return &complaint{at, fmt.Sprintf("more than %d keys or dashes with nothing behind them", maxEmpty), "{} for a state without factors"}
			}
		}
		if r, ok := refused[t.Type]; ok {
			return &complaint{at, r[0], r[1]}
		}
		if ended && t.Type != token.CommentType {
			return &complaint{at, "the file has more than one document", "one study in one file"}
		}
		switch t.Type {
		case token.InvalidType:
			return &complaint{at, lower(t.Error), ""}
		case token.DocumentHeaderType:
			if firstContent(tokens) < i {
				return &complaint{at, "the file has more than one document", "one study in one file"}
			}
		case token.DocumentEndType:
			ended = true
		case token.MappingStartType, token.SequenceStartType:
			flow = append(flow, 0)
		case token.MappingEndType, token.SequenceEndType:
			if len(flow) > 0 {
				flow = flow[:len(flow)-1]
			}
		case token.MappingValueType, token.SequenceEntryType:
			if n := len(flow); n > 0 {
				if flow[n-1]++; flow[n-1] > maxKeys {
					return &complaint{at, fmt.Sprintf("more than %d keys in one mapping", maxKeys), ""}
				}
				break
			}
			col := at.col
			if t.Type == token.MappingValueType && i > 0 {
				col = spotOf(tokens[i-1]).col
			}
			for len(block) > 0 && block[len(block)-1].col > col {
				block = block[:len(block)-1]
			}
			if len(block) == 0 || block[len(block)-1].col < col {
				block = append(block, level{col: col})
			}
			top := &block[len(block)-1]
			if t.Type == token.MappingValueType {
				if top.keys++; top.keys > maxKeys {
					return &complaint{at, fmt.Sprintf("more than %d keys in one mapping", maxKeys), ""}
				}
			}
		}
		if len(block)+len(flow) > maxDepth {
			return &complaint{at, fmt.Sprintf("mappings and lists are nested more than %d deep", maxDepth), ""}
		}
	}
	return nil
}

// leavesOut tells whether nothing is written behind the token i where a value
// could be: behind a dash or colon, or, in { }, behind a key without a colon.
func leavesOut(tokens token.Tokens, i int) bool {
	ends := func(t *token.Token) bool {
		return t.Type == token.CollectEntryType || t.Type == token.MappingEndType || t.Type == token.SequenceEndType
	}
	t := tokens[i]
	switch t.Type {
	case token.SequenceEntryType, token.MappingValueType:
		if i+1 == len(tokens) || ends(tokens[i+1]) {
			return true
		}
		owner := spotOf(t)
		if t.Type == token.MappingValueType && i > 0 {
			owner = spotOf(tokens[i-1])
		}
		next := spotOf(tokens[i+1])
		return next.line > owner.line && next.col <= owner.col
	case token.CollectEntryType, token.MappingStartType:
		return i+2 < len(tokens) && ends(tokens[i+2])
	}
	return false
}

// firstContent is the index of the first token that is not a comment.
func firstContent(tokens token.Tokens) int {
	for i, t := range tokens {
		if t.Type != token.CommentType {
			return i
		}
	}
	return len(tokens)
}

// maxQuoted cuts a message of the YAML library, which may quote a whole file.
const maxQuoted = 120

// lower makes a message of the YAML library begin as ours do.
func lower(s string) string {
	if s == "" {
		return "this is not YAML"
	}
	if r := []rune(s); len(r) > maxQuoted {
		s = string(r[:maxQuoted]) + "…"
	}
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}
