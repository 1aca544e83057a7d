package heat

import (
	"errors"
	"fmt"
	"math"
)

// Path describes how a chip's heat leaves it.
type Path struct {
	// Sink is nil where the chip has none; then Board must be there.
	Sink *Sink
	// Interface is the resistance of what lies between case and sink, K/W.
	Interface float64
	// Source is the side in metres of the square through which heat enters the
	// sink's base; 0: over the whole base, without spreading.
	Source float64
	// Board is the path beside the sink; nil: what leaves that way is not told
	// apart from what leaves by the sink.
	Board *Board
	// Factor multiplies the heat that leaves the sink; 0 means 1.
	Factor float64
}

// Ladder is a path made ready: checked, its spreading resistances tabled. It is
// not changed by use and may be used by several goroutines.
type Ladder struct {
	Path
	base  *spreader
	board *board
}

// New checks a path and makes it ready. The error is of type Problems where a
// description cannot be.
func New(p Path) (*Ladder, error) {
	return (&Ladder{}).Changed(p)
}

// Changed is the ladder of another path. What was tabled of l is used again
// where the same slab comes back: a search for a better sink costs little then.
func (l *Ladder) Changed(p Path) (*Ladder, error) {
	was := l
	l = &Ladder{Path: p}
	if l.Factor == 0 {
		l.Factor = 1
	}
	if p.Sink == nil && p.Board == nil {
		return nil, errors.New("neither a sink nor a board is described")
	}
	var bad Problems
	if !(l.Factor > 0.01 && l.Factor < 100) {
		bad = append(bad, Problem{"factor", fmt.Sprintf("%g is no factor on a heat", l.Factor), "0.01 to 100"})
	}
	bad.within("interface", p.Interface, 0, 1000, 1, "K/W")
	if p.Sink != nil {
		if !p.Sink.Predictable() {
			return nil, fmt.Errorf("no formula is offered for a sink of kind %q: scale what was measured", p.Sink.Kind)
		}
		bad = appendProblems(bad, p.Sink.Check())
		if p.Source != 0 {
			bad.length("chip side", p.Source, 1e-3, 0.1)
		}
	}
	if p.Board != nil {
		bad = appendProblems(bad, p.Board.Check())
	}
	if len(bad) > 0 {
		return nil, bad
	}
	if p.Sink != nil && p.Source > 0 && p.Source < min(p.Sink.Width, p.Sink.Length) {
		slab := Slab{SourceX: p.Source, SourceY: p.Source, X: p.Sink.Width, Y: p.Sink.Length,
			Thickness: p.Sink.Base, Conductivity: p.Sink.Conductivity}
		if l.base = was.base; l.base == nil || l.base.of != slab {
			l.base = slab.spreader()
		}
	}
	if p.Board != nil {
		if l.board = was.board; l.board == nil || l.board.Board != *p.Board {
			b := p.Board.ready()
			l.board = &b
		}
	}
	return l, nil
}

func appendProblems(bad Problems, err error) Problems {
	var p Problems
	if errors.As(err, &p) {
		return append(bad, p...)
	}
	return bad
}

// WithFactor is the same ladder with another factor; what was tabled is shared.
func (l *Ladder) WithFactor(f float64) *Ladder {
	c := *l
	c.Factor = f
	return &c
}

// Rungs are the temperatures of a ladder in balance, in °C, and the heat that
// flows, in W.
type Rungs struct {
	Power    float64
	Air      float64
	Base     float64 // of the sink, mean of its base; NaN without a sink
	Case     float64
	Up, Down float64 // heat by the sink and by the board; they add up to Power
	// Spreading and Interface are the resistances between base and case, K/W.
	Spreading, Interface float64
	Loss                 Loss // of the sink, before the factor
}

// between is the resistance from the base to the case while heat up leaves a
// base with a rise over the air.
func (l *Ladder) between(up, rise float64) (spreading float64) {
	if l.base == nil || rise <= 0 || up <= 0 {
		return 0
	}
	return l.base.at(up / (rise * l.Sink.Width * l.Sink.Length))
}

// from gives all rungs that belong to a base temperature (or, without a sink,
// to a case temperature).
func (l *Ladder) from(t float64, in Surroundings) Rungs {
	r := Rungs{Air: in.Air, Base: math.NaN(), Case: t}
	if l.Sink != nil {
		r.Base, r.Loss, r.Interface = t, l.Sink.Loss(t, in), l.Interface
		r.Up = l.Factor * r.Loss.Total()
		r.Spreading = l.between(r.Up, t-in.Air)
		r.Case = t + r.Up*(r.Spreading+r.Interface)
	}
	if l.board != nil {
		r.Down = l.board.loss(r.Case, in)
	}
	r.Power = r.Up + r.Down
	return r
}

// At finds the balance for a power in W: the heat that leaves is the heat that
// comes in. The power is not negative.
func (l *Ladder) At(power float64, in Surroundings) (Rungs, error) {
	if err := in.Check(); err != nil {
		return Rungs{}, err
	}
	if !(power >= 0 && power <= 1e4) {
		return Rungs{}, Problems{{"power", fmt.Sprintf("%g W cannot be computed", power), "0 to 10000 W"}}
	}
	lo := math.Min(in.Air, in.Walls)
	hi := math.Max(in.Air, in.Walls) + 10
	f := func(t float64) float64 { return l.from(t, in).Power - power }
	for f(hi) < 0 {
		if hi > 1000 {
			return Rungs{}, ErrNoBalance
		}
		hi = in.Air + 2*(hi-in.Air)
	}
	if f(lo) >= 0 {
		return l.from(lo, in), nil
	}
	t, err := root(f, lo, hi)
	if err != nil {
		return Rungs{}, err
	}
	return l.from(t, in), nil
}

// PowerAt is the power in W at which the case has a temperature; 0 where that
// is not above the air.
func (l *Ladder) PowerAt(caseTemp float64, in Surroundings) (float64, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	if caseTemp <= math.Max(in.Air, in.Walls) {
		return 0, nil
	}
	t, err := root(func(t float64) float64 { return l.from(t, in).Case - caseTemp }, math.Min(in.Air, in.Walls), caseTemp+1e-9)
	if err != nil {
		return 0, err
	}
	return l.from(t, in).Power, nil
}

// With is the same ladder with another factor, emissivity of its sink and
// interface, unchecked: for differentiating. What was tabled is shared.
func (l *Ladder) With(factor, emissivity, between float64) *Ladder {
	c := *l
	c.Factor, c.Interface = factor, between
	if l.Sink != nil {
		s := *l.Sink
		s.Emissivity = emissivity
		c.Sink = &s
	}
	return &c
}

// WithoutSpreading is the same ladder for an interface that was measured
// together with the spreading in the base.
func (l *Ladder) WithoutSpreading() *Ladder {
	c := *l
	c.Source, c.base = 0, nil
	return &c
}

// BoardLoss is the heat in W that leaves by the board at a temperature of the
// case; 0 where no board is described.
func (l *Ladder) BoardLoss(celsius float64, in Surroundings) float64 {
	if l.board == nil {
		return 0
	}
	return l.board.loss(celsius, in)
}
