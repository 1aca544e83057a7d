package studyfile

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestFormDoesNotMatter: comments, blank lines, quotes, braces over several
// lines and deeper indentation change nothing in what is read.
func TestFormDoesNotMatter(t *testing.T) {
	src, err := os.ReadFile("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	plain := string(src)
	want, _, err := Read("example.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	each := func(change func(i int, line string) string) string {
		lines := strings.Split(strings.TrimSuffix(plain, "\n"), "\n")
		for i, l := range lines {
			lines[i] = change(i, l)
		}
		return strings.Join(lines, "\n") + "\n"
	}
	for name, text := range map[string]string{
		"comment behind each line": each(func(_ int, l string) string { return l + " # remark: [x, {y" }),
		"comment before each line": each(func(i int, l string) string { return strings.Repeat(" ", i%7) + "# it's a remark\n" + l }),
		"blank lines":              each(func(i int, l string) string { return l + strings.Repeat("\n", i%3) + strings.Repeat(" ", i%2) }),
		"twice the indentation": each(func(_ int, l string) string {
			rest := strings.TrimLeft(l, " ")
			pad := strings.Repeat(" ", 2*(len(l)-len(rest)))
			if after, ok := strings.CutPrefix(rest, "- "); ok && !strings.Contains(rest, " against ") && !strings.HasPrefix(after, "{") {
				return pad + "-   " + after
			}
			return pad + rest
		}),
		"braces over lines": each(func(_ int, l string) string {
			rest := strings.TrimLeft(l, " ")
			pad := "\n" + strings.Repeat(" ", len(l)-len(rest)+4)
			if strings.Contains(l, "±(") || strings.Contains(l, `"`) || strings.Contains(l, "#") {
				return l
			}
			return strings.NewReplacer("{", "{"+pad, "}", pad+"}", ", ", ","+pad).Replace(l)
		}),
		"no line end at the end": strings.TrimSuffix(plain, "\n"),
		"spaces at line ends":    each(func(_ int, l string) string { return l + "  " }),
	} {
		got, _, err := Read(name+".yaml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s changes the study:\n%s", name, d)
		}
	}
}
