package studyfile

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"railtally/internal/study"
)

// nonsense returns texts that would hurt a reader that trusts them, each close
// to n bytes.
func nonsense(n int) map[string][]byte {
	rnd := rand.New(rand.NewPCG(1, 2))
	random, ascii := make([]byte, n), make([]byte, n)
	for i := range random {
		random[i] = byte(rnd.UintN(256))
		ascii[i] = byte(' ' + rnd.UintN(95))
		if rnd.UintN(40) == 0 {
			ascii[i] = '\n'
		}
	}
	rep := func(s string) []byte { return bytes.Repeat([]byte(s), n/len(s)) }
	var deep, keys strings.Builder
	for i := 0; deep.Len() < n; i++ {
		deep.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	for i := 0; keys.Len() < n; i++ {
		fmt.Fprintf(&keys, "k%d: v\n", i)
	}
	return map[string][]byte{
		"random bytes": random, "random characters": ascii, "zeros": make([]byte, n),
		"brackets": rep("["), "braces": rep("{"), "brackets and commas": rep("[,"), "braces with keys": rep("{a: "),
		"closing": rep("]"), "keys on a line": rep("a: "), "equal keys": rep("a: 1\n"), "keys": []byte(keys.String()),
		"keys in braces":    []byte("{" + strings.Replace(keys.String(), "\n", ", ", -1) + "}"),
		"keys of a bracket": []byte("[" + strings.Replace(keys.String(), "\n", "\n ", -1) + "]"),
		"deep indentation":  []byte(deep.String()), "one line": rep("x"), "one line of words": rep("x y "),
		"dashes on a line": rep("- "), "dashes": rep("- a\n"), "bare dashes": rep("-\n"), "quotes": rep(`"`), "single quotes": rep("'"),
		"open quote": []byte(`a: "` + strings.Repeat("x\n", n/2)), "blank lines": rep("\n"), "spaces": rep(" "),
		"comments": rep("# x\n"), "documents": rep("---\n"), "anchors": rep("&a "), "tags": rep("! "), "question marks": rep("? "),
		"percent": rep("%a\n"), "colons": rep(":"), "tabs": rep("\t"), "folds": []byte("a: >\n" + strings.Repeat("  x\n", n/4)),
		"pipes": rep("|"), "escapes": []byte(`a: "` + strings.Repeat(`\x41`, n/4) + `"`),
		"notes": []byte("study: x\nnote: " + strings.Repeat("n", n)),
		"rails": []byte("study: x\nboards: {b: {rails: {" + strings.Repeat("r: {}, ", n/7) + "}}}"),
	}
}

// TestNonsense: whatever stands in a file, the answer is a fault with a place,
// and it comes while one waits. The test has no clock of its own: a reader whose
// time grows with the square of such a text would not end within the test's.
func TestNonsense(t *testing.T) {
	for name, src := range nonsense(1 << 17) {
		t.Run(name, func(t *testing.T) {
			_, _, err := Read("nonsense.yaml", src)
			var f *Faults
			if !errors.As(err, &f) || len(f.List) == 0 {
				t.Fatalf("no fault: %v", err)
			}
			if first := f.List[0]; first.Line < 1 || first.Column < 1 || first.Message == "" || len(first.Message) > 300 {
				t.Errorf("%+v", first)
			}
			if n := strings.Count(err.Error(), "\n"); n > maxShown {
				t.Errorf("%d lines of faults are shown", n)
			}
		})
	}
}

// TestTooLarge: 10 MB of anything is refused by its size, from memory and from
// a file.
func TestTooLarge(t *testing.T) {
	for _, s := range []string{"[", "a: ", "x", "\x00", "- "} {
		src := bytes.Repeat([]byte(s), 10_000_000/len(s))
		path := filepath.Join(t.TempDir(), "large.yaml")
		if err := os.WriteFile(path, src, 0o600); err != nil {
			t.Fatal(err)
		}
		_, _, err := Read("large.yaml", src)
		_, _, err2 := Open(path)
		for _, err := range []error{err, err2} {
			if err == nil || !strings.Contains(err.Error(), fmt.Sprintf("the file has %d bytes; a study has at most 4 MiB", len(src))) {
				t.Errorf("%q: %v", s, err)
			}
		}
	}
	if _, _, err := Open(filepath.Join(t.TempDir(), "missing.yaml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file gives %v", err)
	}
}

// TestManyFaults: two hundred are shown, the rest is counted.
func TestManyFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("study: x\nboards:\n  b:\n    rails:\n")
	for i := range 300 {
		fmt.Fprintf(&b, "      r%d: {nominal: 1}\n", i)
	}
	_, _, err := Read("many.yaml", []byte(b.String()))
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != maxShown+1 || lines[maxShown] != "and 100 more" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
}

// TestAsWritten: a scalar is the text in the file, whatever YAML would make of
// it; a byte order mark and the line ends of other systems change nothing.
func TestAsWritten(t *testing.T) {
	words := []string{"0x10", "1_000", "no", "~", "null", "1e3", "2026-03-14", "15:31", ".5", "0o17", "007", "+1", ".inf", "True", "1.0"}
	src := "study: x\nboards: {b: {rails: {r: {nominal: 1 V, not opened: 0..1 mA}}}}\nfactors:\n  f: [" + strings.Join(words, ", ") + "]\nstates:\n"
	for i, w := range words {
		src += fmt.Sprintf("  s%d: {f: %s}\n", i, w)
	}
	for name, src := range map[string]string{"plain": src, "mark": "\ufeff" + src, "line ends": strings.ReplaceAll(src, "\n", "\r\n"),
		"document": "---\n" + src + "...\n", "comments": "# c\n---\n# c\n" + src + "# c\n"} {
		s, _, err := Read("x.yaml", []byte(src))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for i, w := range words {
			if got := s.States[i].Level("f"); got != w || s.Factors[0].Levels[i] != w {
				t.Errorf("%s: %q is read as %q", name, w, got)
			}
		}
	}
}

// TestPlaces: a column counts characters, and the index finds what stands at a
// path, or the nearest thing around it.
func TestPlaces(t *testing.T) {
	_, x, err := Open("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	src, err := os.ReadFile("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(src), "\n")
	for _, c := range []struct {
		path []string
		want string // what stands there
	}{
		{nil, "# A study"},
		{[]string{"study"}, "Does the backplane"},
		{[]string{"instruments", "io shunt", "temperature coefficient"}, "75 ppm/K"},
		{[]string{"instruments", "red clamp", "ranges", "low", "position"}, "±0.5 %}"},
		{[]string{"boards", "Otter", "rails", "core", "taps", "right", "loop"}, "80 mm AWG 20"},
		{[]string{"boards", "Otter", "rails", "link", "tap"}, "red clamp low, loop: 60 mm AWG 18, feed"}, // from the defaults
		{[]string{"boards", "Otter", "rails", "link", "tap", "nowhere"}, "red clamp low, loop: 60 mm AWG 18, feed"},
		{[]string{"sittings", "1", "steps", "2", "aux", "v"}, "1.199 V"},
		{[]string{"sittings", "1", "steps", "1", "zero", "blue clamp low"}, "0.1 mV"},
		{[]string{"sittings", "1", "thermometer"}, "probe, room"}, // from the bench
		{[]string{"sittings", "2"}, "board: Marten"},
		{[]string{"nowhere"}, "# A study"},
	} {
		line, col := x.Line(c.path...)
		if got := string([]rune(lines[line-1])[col-1:]); !strings.HasPrefix(got, c.want) {
			t.Errorf("%v is at %d:%d, where %q stands, not %q", c.path, line, col, got, c.want)
		}
	}
}

// TestWriteRefuses: a text that is not UTF-8 is not written.
func TestWriteRefuses(t *testing.T) {
	if err := Write(&bytes.Buffer{}, &study.Study{Question: "a\xffb"}); err == nil {
		t.Error("a text that is not UTF-8 was written")
	}
}

// FuzzRead: no bytes make the reader panic; what it accepts is sound, and what
// is written from it reads as the same text again.
func FuzzRead(f *testing.F) {
	seeds, err := filepath.Glob("testdata/faults/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range append(seeds, "testdata/example.yaml", "testdata/example.golden") {
		src, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	for _, src := range nonsense(300) {
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		s, _, err := Read("fuzz.yaml", src)
		if err != nil {
			for _, x := range err.(*Faults).List {
				if x.Line < 1 || x.Column < 1 || x.Message == "" {
					t.Errorf("%+v", x)
				}
			}
			return
		}
		if faults := study.Check(s); faults != nil {
			t.Fatalf("accepted with %v", faults)
		}
		text := written(t, s)
		again, _, err := Read("again.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if second := written(t, again); second != text {
			t.Fatalf("written as\n%s\nthen as\n%s", text, second)
		}
	})
}
