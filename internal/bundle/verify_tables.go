package bundle

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
)

// near is how far two unrounded numbers may lie apart, in parts of the larger:
// processors differ in the last bits of a sum. It is far below any digit that is
// stated.
const near = 1e-9

// alike tells whether two unrounded numbers are the same but for a processor's
// rounding.
func alike(a, b float64) bool {
	return a == b || math.Abs(a-b) <= near*math.Max(math.Abs(a), math.Abs(b)) || math.Abs(a-b) < 1e-15
}

// sameText tells whether two texts are the same, or the same number.
func sameText(a, b string) bool {
	if a == b {
		return true
	}
	x, err := strconv.ParseFloat(a, 64)
	if err != nil {
		return false
	}
	y, err := strconv.ParseFloat(b, 64)
	return err == nil && alike(x, y)
}

// compare says where a file that was published first differs from the one that
// follows; "" where it does not.
func (v *verifier) compare(name string, published, follows []byte) (string, error) {
	switch path.Ext(name) {
	case ".csv":
		return v.compareCSV(published, follows)
	case ".json":
		return v.compareJSON(published, follows)
	}
	if !v.same {
		return "", nil // another version may write the same values in other bytes
	}
	return "its bytes are not those that follow", nil
}

func (v *verifier) compareCSV(published, follows []byte) (string, error) {
	head, lines, err := readCSV(published)
	if err != nil {
		return "", err
	}
	wantHead, want, err := readCSV(follows)
	if err != nil {
		return "", err
	}
	at := map[string]int{}
	for i, key := range head {
		at[key] = i
	}
	if v.same && strings.Join(head, ",") != strings.Join(wantHead, ",") {
		return "its columns are not those that follow", nil
	}
	for r, line := range want {
		if r >= len(lines) {
			return fmt.Sprintf("the row of %s is missing", rowName(line)), nil
		}
		for i, key := range wantHead {
			if j, ok := at[key]; ok && !sameText(lines[r][j], line[i]) {
				return fmt.Sprintf("row %d (%s), %s: published %s, recomputed %s", r+1, rowName(line), key, said(lines[r][j]), said(line[i])), nil
			}
		}
	}
	if len(lines) > len(want) {
		return fmt.Sprintf("the row of %s was added", rowName(lines[len(want)])), nil
	}
	return "", nil
}

// rowName tells a row by its first fields.
func rowName(line []string) string { return strings.Join(line[:min(3, len(line))], " ") }

func said(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

func (v *verifier) compareJSON(published, follows []byte) (string, error) {
	a, err := decoded(published)
	if err != nil {
		return "", err
	}
	b, err := decoded(follows)
	if err != nil {
		return "", err
	}
	return v.compareValue("", a, b), nil
}

func decoded(text []byte) (v any, err error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	if err := dec.Decode(&v); err != nil {
		return nil, err
	}
	if dec.More() {
		return nil, errors.New("it holds more than one document")
	}
	return v, nil
}

// compareValue compares two JSON values and says where they differ. Keys that
// only one has are looked over where another version packed.
func (v *verifier) compareValue(at string, a, b any) string {
	switch b := b.(type) {
	case map[string]any:
		x, ok := a.(map[string]any)
		if !ok {
			return at + " is no object"
		}
		for _, k := range sortedKeys(b) {
			if _, ok := x[k]; !ok {
				if v.same {
					return at + "." + k + " is missing"
				}
				continue
			}
			if d := v.compareValue(at+"."+k, x[k], b[k]); d != "" {
				return d
			}
		}
		for _, k := range sortedKeys(x) {
			if _, ok := b[k]; !ok && v.same {
				return at + "." + k + " was added"
			}
		}
	case []any:
		x, ok := a.([]any)
		if !ok || len(x) != len(b) {
			return at + " has another number of items"
		}
		for i := range b {
			if d := v.compareValue(fmt.Sprintf("%s[%d]", at, i), x[i], b[i]); d != "" {
				return d
			}
		}
	default:
		if s, t := fmt.Sprint(a), fmt.Sprint(b); !sameText(s, t) {
			return fmt.Sprintf("%s: published %s, recomputed %s", at, said(s), said(t))
		}
	}
	return ""
}

// within tells whether two numbers in text differ by no more than so much.
func within(a, b string, by float64) bool {
	x, err := strconv.ParseFloat(a, 64)
	y, err2 := strconv.ParseFloat(b, 64)
	return err == nil && err2 == nil && math.Abs(x-y) <= by
}

func sortedKeys(m map[string]any) []string {
	return slices.Sorted(maps.Keys(m))
}
