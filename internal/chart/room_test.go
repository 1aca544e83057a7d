package chart

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// anyFigure is an estimate of any size between nanowatts and kilowatts, of
// either sign, with an interval of any size.
func anyFigure(t *rapid.T, name string) tally.Figure {
	size := math.Pow(10, rapid.Float64Range(-9, 3).Draw(t, name+" size"))
	f := tally.Figure{
		Estimate: size * rapid.SampledFrom([]float64{1, 1, 1, 1, -1, 0}).Draw(t, name+" sign"),
		Expanded: size * rapid.SampledFrom([]float64{0, 0.0003, 0.02, 0.1, 0.6, 1, 5}).Draw(t, name+" interval"),
	}
	return f
}

func anyName(t *rapid.T, label string) string {
	return rapid.StringMatching(`[a-zA-Zä-üΩµ][a-zA-Z0-9 .Ωß一-三]{0,70}`).Draw(t, label)
}

// anyTally has boards, states and rails of any names and figures.
func anyTally(t *rapid.T) *tally.Tally {
	out := &tally.Tally{Level: 0.95, Study: &study.Study{}}
	states := rapid.IntRange(1, 5).Draw(t, "states")
	for i := range states {
		out.Study.States = append(out.Study.States, &study.State{Name: fmt.Sprint(i, anyName(t, "state"))})
	}
	kinds := []study.TapKind{study.TapClamp, study.TapShunt, study.TapSense, study.TapInductor, study.TapSeries}
	for i := range rapid.IntRange(1, 4).Draw(t, "boards") {
		b := &tally.Board{Board: &study.Board{Name: fmt.Sprint(i, anyName(t, "board")), Chip: anyName(t, "chip")}}
		for j := range rapid.IntRange(1, 14).Draw(t, "rails") {
			r := &study.Rail{Name: fmt.Sprint(j, anyName(t, "rail")), Nominal: quantity.Entry{Values: []float64{1.2}}}
			if j > 0 && rapid.IntRange(0, 3).Draw(t, "hangs") == 0 {
				parent := b.Rails[rapid.IntRange(0, j-1).Draw(t, "parent")]
				r.From = &study.Supply{Rail: parent.Name, Through: study.ThroughWire}
			}
			r.Aside = rapid.IntRange(0, 5).Draw(t, "aside") == 0
			if rapid.IntRange(0, 4).Draw(t, "bounded") == 0 {
				r.Bound = &quantity.Entry{Kind: quantity.Band, Values: []float64{0, math.Abs(anyFigure(t, "bound").Estimate)}}
			} else {
				for range rapid.IntRange(1, 4).Draw(t, "taps") {
					r.Taps = append(r.Taps, &study.Tap{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Turns: rapid.IntRange(1, 12).Draw(t, "turns")})
				}
			}
			b.Rails = append(b.Rails, r)
		}
		for _, st := range out.Study.States {
			s := &tally.State{Board: b.Board, State: st, Complete: rapid.IntRange(0, 4).Draw(t, "complete") > 0}
			for _, r := range b.Rails {
				if !s.Complete && rapid.Bool().Draw(t, "missing") {
					s.Missing = append(s.Missing, r.Name)
					continue
				}
				s.Rails = append(s.Rails, &tally.Rail{
					Rail: r, Voltage: anyFigure(t, "voltage"), Drawn: anyFigure(t, "drawn"),
					Current: anyFigure(t, "current"), Power: anyFigure(t, "power"),
				})
			}
			s.Total = anyFigure(t, "total")
			b.States = append(b.States, s)
		}
		out.Study.Boards = append(out.Study.Boards, b.Board)
		out.Boards = append(out.Boards, b)
	}
	factor := &study.Factor{Name: anyName(t, "factor")}
	for i := range rapid.IntRange(1, 5).Draw(t, "levels") {
		factor.Levels = append(factor.Levels, fmt.Sprint(i, anyName(t, "level")))
	}
	out.Study.Factors = []*study.Factor{factor}
	for _, b := range out.Boards {
		e := &tally.Effects{Base: tally.Effect{Power: anyFigure(t, "base")}}
		for _, l := range factor.Levels[1:] {
			if rapid.Bool().Draw(t, "varied") {
				e.Terms = append(e.Terms, tally.Effect{Factor: factor.Name, Level: l, From: factor.Levels[0], Power: anyFigure(t, "effect")})
			}
		}
		b.Effects = e
		for i, s := range b.States {
			if i == 0 {
				continue
			}
			d := &tally.Difference{First: s, Second: b.States[i-1], Difference: anyFigure(t, "step")}
			b.Steps = append(b.Steps, tally.Step{Difference: d, Factor: factor.Name, From: factor.Levels[0], To: factor.Levels[len(factor.Levels)-1]})
		}
	}
	for range rapid.IntRange(0, 6).Draw(t, "differences") {
		pick := func(name string) *tally.State {
			b := rapid.SampledFrom(out.Boards).Draw(t, name)
			return rapid.SampledFrom(b.States).Draw(t, name)
		}
		d := &tally.Difference{First: pick("first"), Second: pick("second"), Difference: anyFigure(t, "difference"), Margin: math.Abs(anyFigure(t, "margin").Estimate)}
		d.Verdict = tally.Judge(d.Difference, d.Margin)
		out.Differences = append(out.Differences, d)
	}
	return out
}

// anyMatrix compares each state of a board with each one before it.
func anyMatrix(t *rapid.T, b *tally.Board) (rows [][]*tally.Difference) {
	for i, s := range b.States {
		var row []*tally.Difference
		for _, before := range b.States[:i] {
			d := &tally.Difference{First: s, Second: before, Difference: anyFigure(t, "field"), Margin: math.Abs(anyFigure(t, "limit").Estimate)}
			d.Verdict = tally.Judge(d.Difference, d.Margin)
			row = append(row, d)
		}
		rows = append(rows, row)
	}
	return rows
}

// anyParts gives each rail of a state some part of its total.
func anyParts(t *rapid.T, s *tally.State) (parts []tally.RailPart) {
	for _, r := range s.Rails {
		parts = append(parts, tally.RailPart{Rail: r, Share: anyFigure(t, "part")})
	}
	return parts
}

// Whatever is measured and whatever it is called, no label leaves the drawing
// or touches another, at any width.
func TestLabelsAlwaysHaveRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ta := anyTally(t)
		o := Options{
			Width:  rapid.SampledFrom([]float64{320, 360, 480, 560, 720, 1100, 1440}).Draw(t, "width"),
			Height: rapid.SampledFrom([]float64{0, 0, 0, 600, 1080}).Draw(t, "height"),
			Title:  rapid.SampledFrom([]string{"", "What the chip draws in each of the states that were measured on both boards"}).Draw(t, "title"),
		}
		s := rapid.SampledFrom(rapid.SampledFrom(ta.Boards).Draw(t, "board").States).Draw(t, "state")
		rows, parts := anyMatrix(t, ta.Board(s.Board.Name)), anyParts(t, s)
		for _, draw := range []func() (*Drawing, error){
			func() (*Drawing, error) { return Totals(ta, o) },
			func() (*Drawing, error) { return Stack(ta, s.Board.Name, o) },
			func() (*Drawing, error) { return Differences(ta, o) },
			func() (*Drawing, error) { return Lanes(ta, s.On(), o) },
			func() (*Drawing, error) { return Effects(ta, o) },
			func() (*Drawing, error) { return Waterfall(ta, s.Board.Name, o) },
			func() (*Drawing, error) { return matrix(s.Board.Name, ta.Board(s.Board.Name).States, rows, 0, 0.95, o) },
			func() (*Drawing, error) { return shares(s.On(), parts, 0.95, o) },
		} {
			d, err := draw()
			if err != nil && o.Height > 0 && strings.Contains(err.Error(), "too low") {
				continue // a long list of states on a low picture
			}
			if err != nil {
				t.Fatal(err)
			}
			checkLabels(t, d)
			if o.Height > 0 && d.Height != o.Height {
				t.Errorf("height %g, asked for %g", d.Height, o.Height)
			}
			// On a phone a dozen lanes and figures of thirteen letters may meet.
			if strings.HasPrefix(d.id, "lanes") && o.Width >= 720 {
				checkLanesKeepOff(t, d)
			}
		}
	})
}

// inside tells whether a point lies in a polygon (even-odd rule).
func inside(p path, q point) bool {
	in := false
	for i, a := range p.points {
		b := p.points[(i+1)%len(p.points)]
		if (a.y > q.y) != (b.y > q.y) && q.x < a.x+(q.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			in = !in
		}
	}
	return in
}

// checkLanesKeepOff reports labels that stand on a lane. The letter in a series
// meter does so on purpose.
func checkLanesKeepOff(t interface{ Errorf(string, ...any) }, d *Drawing) {
	for _, m := range d.marks {
		if m.shape == nil || !m.shape.fill.on || m.shape.fill.role == look.Paper || len(m.shape.path.verbs) != len(m.shape.path.points)+1 {
			continue
		}
		for _, l := range d.labels() {
			x0, y0, x1, y1 := l.box()
			for i := range 9 {
				for j := range 3 {
					q := point{x0 + (x1-x0)*float64(i)/8, y0 + (y1-y0)*float64(j)/2}
					if l.text != "A" && inside(m.shape.path, q) {
						t.Errorf("%q stands on a lane at %.1f", l.text, q)
					}
				}
			}
		}
	}
}

func TestLanesKeepOffTheLabels(t *testing.T) {
	for _, g := range gallery() {
		if !strings.HasPrefix(g.name, "lanes") {
			continue
		}
		for size, o := range sizes() {
			t.Run(g.name+" "+size, func(t *testing.T) {
				d, err := g.draw(t, o)
				if err != nil {
					t.Fatal(err)
				}
				checkLanesKeepOff(t, d)
			})
		}
	}
}
