package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"railtally/internal/cli"
)

var console = regexp.MustCompile("(?ms)^```console\n(.*?)^```$")

// Commands shown in the README and in docs are run in a copy of the docs
// folder, and what they print is compared with what is shown. A line "…" stands
// for any number of lines.
func TestShownCommands(t *testing.T) {
	files, err := filepath.Glob("docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	shown := 0
	for _, name := range append(files, "README.md") {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		blocks := console.FindAllStringSubmatch(string(text), -1)
		if len(blocks) == 0 {
			continue
		}
		t.Run(name, func(t *testing.T) {
			root, err := os.Getwd()
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if err := os.CopyFS(filepath.Join(dir, "docs"), os.DirFS(filepath.Join(root, "docs"))); err != nil {
				t.Fatal(err)
			}
			t.Chdir(dir)
			for _, b := range blocks {
				for _, c := range splitCommands(b[1]) {
					shown++
					compareShown(t, c.line, c.output)
				}
			}
		})
	}
	if shown < 3 {
		t.Errorf("only %d commands are shown", shown)
	}
}

type shownCommand struct{ line, output string }

func splitCommands(block string) []shownCommand {
	var out []shownCommand
	for _, line := range strings.SplitAfter(block, "\n") {
		if cmd, ok := strings.CutPrefix(line, "$ "); ok {
			out = append(out, shownCommand{line: strings.TrimSpace(cmd)})
		} else if n := len(out); n > 0 {
			out[n-1].output += line
		}
	}
	return out
}

func compareShown(t *testing.T, line, want string) {
	t.Helper()
	args := strings.Fields(line)
	if args[0] != "railtally" || strings.ContainsAny(line, "|>'\"") {
		t.Errorf("%q: only plain railtally commands are shown in a console block", line)
		return
	}
	var out bytes.Buffer
	cli.Run(context.Background(), args[1:], &out, &out)
	var pattern strings.Builder
	pattern.WriteString(`\A`)
	for _, l := range strings.SplitAfter(want, "\n") {
		if strings.TrimSpace(l) == "…" {
			pattern.WriteString(`(?s:.*)`)
			continue
		}
		pattern.WriteString(regexp.QuoteMeta(l))
	}
	pattern.WriteString(`\z`)
	if !regexp.MustCompile(pattern.String()).MatchString(out.String()) {
		t.Errorf("%q prints\n%s\nwhere the text shows\n%s", line, out.String(), want)
	}
}

// The pictures in the README are the demo's.
func TestPicturesAreTheDemos(t *testing.T) {
	root, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	var out bytes.Buffer
	if code := cli.Run(context.Background(), []string{"demo"}, &out, &out); code != 0 {
		t.Fatal(out.String())
	}
	for _, name := range []string{"lanes-otter.svg", "totals.svg"} {
		got, err := os.ReadFile(filepath.Join("railtally-demo", name))
		if err != nil {
			t.Fatal(err)
		}
		kept := filepath.Join(root, "docs", "images", name)
		if os.Getenv("UPDATE_PICTURES") != "" {
			if err := os.WriteFile(kept, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(kept)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("docs/images/%s is not what the demo draws: run UPDATE_PICTURES=1 go test -run Pictures .", name)
		}
	}
}
