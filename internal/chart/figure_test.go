package chart

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"railtally/internal/phrase"
	"railtally/internal/tally"
)

// readFigure reads "−0.281" and "± 0.070 W" back, in watts.
func readFigure(t *testing.T, value, interval string) tally.Figure {
	t.Helper()
	fields := strings.Fields(strings.ReplaceAll(interval, "\u00a0", " "))
	scale, known := map[string]float64{"W": 1, "mW": 1e-3, "µW": 1e-6}[fields[len(fields)-1]]
	if !known {
		t.Fatalf("%q has no unit", interval)
	}
	parse := func(text string) float64 {
		v, err := strconv.ParseFloat(strings.ReplaceAll(text, "−", "-"), 64)
		if err != nil {
			t.Fatalf("%q, %q: %v", value, interval, err)
		}
		return v * scale
	}
	return tally.Figure{Estimate: parse(value), Expanded: parse(fields[1])}
}

// figuresAt returns the figures that stand in a drawing: numbers with the ± that
// follows them.
func figuresAt(t *testing.T, d *Drawing) (shown []tally.Figure) {
	t.Helper()
	for _, l := range d.labels() {
		if l.tail != "" {
			shown = append(shown, readFigure(t, l.text, l.tail))
		}
	}
	return shown
}

// What stands in a chart is what the tally says, in its order, to the second
// digit of the interval (JCGM 100:2008, 7.2.6).
func TestFiguresAreTheTallys(t *testing.T) {
	ev := evening(t)
	var totals, differences, rails []tally.Figure
	for _, st := range ev.Study.States {
		for _, b := range ev.Boards {
			if s := ev.State(on(b.Name, st.Name)); s != nil && s.Complete {
				totals = append(totals, s.Total)
			}
		}
	}
	for _, d := range ev.Differences {
		differences = append(differences, d.Difference)
	}
	for _, r := range ev.State(on("Otter", "one-busy")).Rails {
		if r.Bound == nil {
			rails = append(rails, r.Power)
		}
	}
	for _, c := range []struct {
		name string
		draw func() (*Drawing, error)
		want []tally.Figure
	}{
		{"totals", func() (*Drawing, error) { return Totals(ev, Options{}) }, totals},
		{"differences", func() (*Drawing, error) { return Differences(ev, Options{Width: 360}) }, differences},
		{"lanes", func() (*Drawing, error) { return Lanes(ev, on("Otter", "one-busy"), Options{}) }, rails},
	} {
		d, err := c.draw()
		if err != nil {
			t.Fatal(err)
		}
		got := figuresAt(t, d)
		if len(got) != len(c.want) {
			t.Fatalf("%s: %d figures, want %d", c.name, len(got), len(c.want))
		}
		for i, f := range c.want {
			half := math.Pow(10, math.Floor(math.Log10(f.Expanded))-1) / 2
			if math.Abs(got[i].Estimate-f.Estimate) > 1.001*half || math.Abs(got[i].Expanded-f.Expanded) > 1.001*half {
				t.Errorf("%s, figure %d: drawn %g ± %g, the tally has %g ± %g", c.name, i, got[i].Estimate, got[i].Expanded, f.Estimate, f.Expanded)
			}
		}
	}
}

// Lengths are to scale: the widths of lanes go as their powers, and the lanes
// of a state are together as high as the chip's edge.
func TestLanesAreToScale(t *testing.T) {
	st := evening(t).State(on("Otter", "one-busy"))
	set, err := newLanes(words{phrase.English()}, st)
	if err != nil {
		t.Fatal(err)
	}
	face, err := newTypeface()
	if err != nil {
		t.Fatal(err)
	}
	s := &sheet{Drawing: &Drawing{face: face, Width: 720}, o: Options{Width: 720, Type: 14, w: words{phrase.English()}}, t: 14, left: 18, right: 702, spread: 1}
	p, r := s.planLanes(set)
	if !r.fits {
		t.Error("the bends do not fit")
	}
	for _, l := range set.list {
		if want := p.scale * l.power; l.width != math.Max(want, p.least) {
			t.Errorf("%s: width %g, want %g", l.spec.Name, l.width, want)
		}
		for _, way := range [][]point{r.edge(l, l.x0, -l.width/2), r.edge(l, l.x0, l.width/2)} {
			if end := way[len(way)-1]; end.x != p.chip || math.Abs(math.Abs(end.y-l.entry)-l.width/2) > 1e-9 {
				t.Errorf("%s ends at %v, not at the chip's edge", l.spec.Name, end)
			}
			for i := 1; i < len(way); i++ {
				if way[i].x < way[i-1].x-1e-9 {
					t.Errorf("%s runs backwards: %v", l.spec.Name, way)
				}
			}
		}
	}
	for i := 1; i < len(set.list); i++ {
		a, b := set.list[i-1], set.list[i]
		if gap := b.entry - b.width/2 - (a.entry + a.width/2); math.Abs(gap-r.gap) > 0.51 {
			t.Errorf("%s and %s are %g apart at the chip, want %g", a.spec.Name, b.spec.Name, gap, r.gap)
		}
	}
}

func TestRoundStep(t *testing.T) {
	for _, c := range []struct{ x, want float64 }{{0.9, 1}, {1, 1}, {1.1, 2}, {3, 5}, {6, 10}, {0.021, 0.05}, {340, 500}} {
		if got := roundStep(c.x); math.Abs(got-c.want) > 1e-12*c.want {
			t.Errorf("step for %g: got %g, want %g", c.x, got, c.want)
		}
	}
}

func TestClip(t *testing.T) {
	f, err := newTypeface()
	if err != nil {
		t.Fatal(err)
	}
	const text = "a rail with a long name"
	whole := f.width(text, 14, true)
	if got := f.clip(text, whole, 14, true); got != text {
		t.Errorf("clipped to its own width: %q", got)
	}
	for w := whole - 1; w > 20; w -= 7 {
		got := f.clip(text, w, 14, true)
		if !strings.HasSuffix(got, "…") || f.width(got, 14, true) > w+0.02 || !strings.HasPrefix(text, strings.TrimSuffix(got, "…")) {
			t.Errorf("clipped to %.0f: %q", w, got)
		}
	}
	// Source Sans 3's figures are 497 of 1000 units wide
	// (read with fontTools from the files themselves).
	if got := f.width("0", 1000, false); got != 497 {
		t.Errorf("a figure is %g wide, want 497", got)
	}
}
