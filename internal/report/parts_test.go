package report

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"
	"testing"

	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func partsOf(t *testing.T) (*tally.Tally, *Parts, *template.Template) {
	t.Helper()
	x, _, err := studyfile.Open("testdata/otter.yaml")
	if err != nil {
		t.Fatal(err)
	}
	tl, err := tally.Run(x, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := NewParts(tl, Links{
		State:      func(on study.StateOn) string { return "/state/" + on.Board + "/" + on.State },
		Rail:       func(on study.StateOn, rail string) string { return "/rail/" + on.State + "/" + rail },
		Difference: func(d *tally.Difference) string { return "/difference/" + d.First.State.Name },
	})
	fsys, names, err := Templates()
	if err != nil {
		t.Fatal(err)
	}
	set, err := template.New("").Funcs(Funcs(english().Language)).ParseFS(fsys, names...)
	if err != nil {
		t.Fatal(err)
	}
	return tl, p, set
}

// A piece that is set alone is what the page shows, but for where its figures
// lead to.
func TestPartsAreThePages(t *testing.T) {
	tl, p, set := partsOf(t)
	var page bytes.Buffer
	if err := Page(&page, tl, Options{}); err != nil {
		t.Fatal(err)
	}
	must := func(v any, err error) any {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	first := tl.Boards[0]
	for _, x := range []struct {
		name string
		data any
	}{
		{"answer", p.Answer()},
		{"power-table", p.Table(first)},
		{"picture", must(p.Totals())},
		{"picture", must(p.Lanes(tally.Fullest(first)))},
		{"picture", must(p.Stack(first))},
		{"differences", map[string]any{"Differences": must(p.Differences())}},
		{"sittings", map[string]any{"Sittings": must(p.Sittings())}},
		{"findings", map[string]any{"Findings": p.Findings()}},
	} {
		var b bytes.Buffer
		if err := set.ExecuteTemplate(&b, x.name, x.data); err != nil {
			t.Fatalf("%s: %v", x.name, err)
		}
		for line := range bytes.Lines(closeUp(b.Bytes())) {
			text := string(bytes.TrimSpace(line))
			if strings.Contains(text, `href="/`) || strings.Contains(text, `id="chart-`) || strings.Contains(text, "<svg") {
				continue // leads elsewhere; identifiers are numbered anew
			}
			if !strings.Contains(page.String(), text) {
				t.Errorf("%s: the page has no %q", x.name, text)
			}
		}
	}
}

// Every figure of the pieces leads where the links say, and none to an anchor
// of the page that is not there.
func TestPartsLinks(t *testing.T) {
	tl, p, set := partsOf(t)
	var b bytes.Buffer
	for _, board := range tl.Boards {
		if err := set.ExecuteTemplate(&b, "power-table", p.Table(board)); err != nil {
			t.Fatal(err)
		}
	}
	d, err := p.Differences()
	if err != nil {
		t.Fatal(err)
	}
	if err := set.ExecuteTemplate(&b, "differences", map[string]any{"Differences": d}); err != nil {
		t.Fatal(err)
	}
	out := b.String()
	if strings.Contains(out, `href="#`) {
		t.Error("a figure leads to an anchor")
	}
	states := 0
	for _, board := range tl.Boards {
		for _, s := range board.States {
			states++
			if want := fmt.Sprintf(`href="/state/%s/%s"`, board.Name, s.State.Name); !strings.Contains(out, want) {
				t.Errorf("nothing has %s", want)
			}
		}
	}
	if states == 0 || strings.Count(out, `href="/difference/`) != len(tl.Differences) {
		t.Errorf("%d states; %d of %d differences lead somewhere", states, strings.Count(out, `href="/difference/`), len(tl.Differences))
	}
}

// An opened rail states its power, and names each instrument once.
func TestPartsRail(t *testing.T) {
	tl, p, _ := partsOf(t)
	for _, board := range tl.Boards {
		for _, s := range board.States {
			for _, r := range s.Rails {
				v, err := p.Rail(s, r)
				if err != nil {
					t.Fatal(err)
				}
				if o := v.(*openRail); !strings.Contains(o.Stated, "W") {
					t.Errorf("%s %s: states %q", s.On(), r.Name, o.Stated)
				}
				seen := map[string]bool{}
				for _, x := range p.Instruments(s, r) {
					name := x.(*instrumentView).Name
					if seen[name] {
						t.Errorf("%s %s: %s twice", s.On(), r.Name, name)
					}
					seen[name] = true
				}
				if len(seen) == 0 && r.Bound == nil {
					t.Errorf("%s %s: no instrument", s.On(), r.Name)
				}
			}
		}
	}
}
