package table

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

// CSVOptions say for whom a CSV file is written. The zero value is RFC 4180 with
// decimal points.
type CSVOptions struct {
	// DecimalComma writes 0,402 and parts fields by semicolons, as spreadsheets
	// read it where numbers are written with a comma.
	DecimalComma bool
}

// CSV writes the table for spreadsheets and programs (RFC 4180, UTF-8, lines
// end in a line feed), one field for each of Fields under a head of their keys.
func (t *Table) CSV(w io.Writer, o CSVOptions) error {
	out := csv.NewWriter(w)
	if o.DecimalComma {
		out.Comma = ';'
	}
	fields := t.Fields()
	line := make([]string, len(fields))
	for i, f := range fields {
		line[i] = f.Key
	}
	if err := out.Write(line); err != nil {
		return err
	}
	for r := range t.Rows {
		for i, v := range t.Values(r) {
			line[i] = csvText(v, o.DecimalComma)
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func csvText(v any, comma bool) string {
	switch x := v.(type) {
	case string:
		return Harmless(x)
	case int64:
		return strconv.FormatInt(x, 10)
	case bool:
		if x {
			return "yes"
		}
		return "no"
	case float64:
		s := strconv.FormatFloat(x, 'g', -1, 64)
		if comma {
			s = strings.Replace(s, ".", ",", 1)
		}
		return s
	}
	return ""
}

// Harmless puts an apostrophe before a text that a spreadsheet would run as a
// formula: one that begins, perhaps after spaces, with = + - @ or their wide
// forms, or with a tab or a line break. A text that already has such an
// apostrophe gets another, so that taking off one always gives back the text.
// The list is OWASP's (CSV Injection).
func Harmless(s string) string {
	rest := strings.TrimLeft(s, " '\u00a0")
	first, _ := utf8.DecodeRuneInString(rest)
	if rest != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + s
	}
	return s
}

// Plain takes off the apostrophe that Harmless put before a text.
func Plain(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && Harmless(rest) == s {
		return rest
	}
	return s
}
