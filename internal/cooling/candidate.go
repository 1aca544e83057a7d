package cooling

import (
	"fmt"
	"math"
	"slices"

	"railtally/internal/cooling/heat"
)

// Candidate is one way to cool the chip among several that are compared.
type Candidate struct {
	Name     string    // "half as much fin area again"
	What     string    // what that is: "10 fins 27 mm tall"
	Settings []Setting // what makes it; none: as it is
	Trial    *Trial    // nil: Err says why
	Err      error
	// Worst is the limited temperature least likely to keep its limit, or the
	// warmest where nothing is limited.
	Worst *Prediction
}

// Candidates compares other ways to cool a board's chip at what is asked, the
// warmest first; those that cannot be computed stand last. Without a description
// of a sink or board there are none.
func (c *Cooling) Candidates(b *Board) ([]*Candidate, error) {
	m := b.Model
	if m == nil || !b.Ask.Known() {
		return nil, nil
	}
	list := []*Candidate{{Name: "as it is"}, {Name: "the board alone", What: "no sink", Settings: []Setting{{"sink", "none"}}}}
	add := func(name, what string, s ...Setting) {
		list = append(list, &Candidate{Name: name, What: what, Settings: s})
	}
	mm := func(x float64) string { return fmt.Sprintf("%.4g mm", math.Round(1e4*x)/10) }
	if s := m.Ladder.Sink; s != nil && s.Kind == heat.PlateFins {
		list[0].What = fmt.Sprintf("%d fins %s tall", s.Fins, mm(s.Height))
		taller := func(x float64) Setting { return Setting{"fin height", mm(x * s.Height)} }
		add("half as much fin area again", "the same fins "+mm(1.5*s.Height)+" tall", taller(1.5))
		add("twice the fin area", "the same fins "+mm(2*s.Height)+" tall", taller(2))
		best, _, err := c.bestFins(b, *s)
		if err != nil {
			return nil, err
		}
		if best.Fins != s.Fins {
			n := Setting{"fins", fmt.Sprint(best.Fins)}
			add("the best count of fins", fmt.Sprintf("%d fins %s apart", best.Fins, mm(best.Gap())), n)
			add("the best count, half as tall again", fmt.Sprintf("%d fins %s tall", best.Fins, mm(1.5*s.Height)), n, taller(1.5))
		}
		wide := 1.5 * s.Width
		n := heat.FinsForGap(wide, s.Thickness, s.Gap())
		add("half as wide again", fmt.Sprintf("%d fins on %s", n, mm(wide)), Setting{"width", mm(wide)}, Setting{"fins", fmt.Sprint(n)})
	} else if s != nil {
		list[0].What = fmt.Sprintf("a plate of %s by %s", mm(s.Width), mm(s.Length))
		add("half as large again", mm(1.5*s.Width)+" wide", Setting{"width", mm(1.5 * s.Width)})
	}
	if m.Ladder.Sink != nil {
		add("a faint draught", "0.3 m/s "+through(m.Ladder.Sink).String(), Setting{"air speed", "0.3 m/s"})
		add("a fan", "1 m/s "+through(m.Ladder.Sink).String(), Setting{"air speed", "1 m/s"})
	}
	for _, x := range list {
		ch, bad := b.ChangeOf(x.Settings)
		if len(bad) > 0 {
			x.Err = bad[0].Problem
			continue
		}
		if m.Ladder.Sink == nil && len(x.Settings) > 0 { // as it is, it has no sink
			x.Err = fmt.Errorf("that is how it is")
			continue
		}
		if x.Trial, x.Err = c.Try(b, ch); x.Err == nil {
			x.Worst = Worst(x.Trial.Points)
		}
	}
	list = slices.DeleteFunc(list, func(x *Candidate) bool { return x.Err != nil && m.Ladder.Sink == nil })
	slices.SortStableFunc(list, func(x, y *Candidate) int {
		switch {
		case x.Worst == nil || y.Worst == nil:
			return boolInt(x.Worst == nil) - boolInt(y.Worst == nil)
		case x.Worst.Temperature.Estimate > y.Worst.Temperature.Estimate:
			return -1
		}
		return 1
	})
	return list, nil
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
