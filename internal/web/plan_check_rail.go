package web

import (
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// checkedRail is what opening and sensing one rail comes to.
type checkedRail struct {
	Board, Name string
	Key         string // of its identifier
	Bound       string // it is not opened
	Grade       plan.Grade
	Openings    []openingLine
	Sensors     []sensorLine
	Bounded     string // what it would cost not to open it
}

type openingLine struct {
	Phase   string
	Grade   plan.Grade
	Figures []namedText
	Remarks []plan.Remark
}

type sensorLine struct {
	Name, Shown, On, Step, Width, Note string
	Planned, Not                       bool
}

func checkedRailOf(b *plan.Board, r *plan.Rail) checkedRail {
	v := checkedRail{Board: b.Name, Name: r.Name, Key: url.QueryEscape(b.Name + "/" + r.Name), Grade: plan.Sound}
	if r.Bound != nil {
		v.Bound = entryText(r.Bound)
	}
	worst := []plan.Grade{plan.Sound, plan.Note, plan.Ask, plan.Doubtful, plan.Wrong}
	for _, o := range r.Openings {
		l := openingLine{Phase: o.Phase, Grade: o.Worst(), Figures: openingFigures(r, o)}
		// Worst first, and what is sound too: it was looked at.
		l.Remarks = slices.Clone(o.Remarks)
		slices.SortStableFunc(l.Remarks, func(a, b plan.Remark) int { return slices.Index(worst, b.Grade) - slices.Index(worst, a.Grade) })
		if slices.Index(worst, l.Grade) > slices.Index(worst, v.Grade) {
			v.Grade = l.Grade
		}
		v.Openings = append(v.Openings, l)
	}
	for _, s := range r.Sensors {
		l := sensorLine{Name: s.Name, Shown: quantity.Format(s.Shown, quantity.Volt, 3), On: s.Range, Step: quantity.Format(s.Least, quantity.Ampere, 2), Planned: s.Planned, Note: s.Why, Not: s.Why != ""}
		if s.Width > 0 && !math.IsInf(s.Width, 0) {
			l.Width = "±" + quantity.Format(s.Width, quantity.Watt, 2)
		}
		v.Sensors = append(v.Sensors, l)
	}
	if k := r.Bounding; k != nil {
		v.Bounded = "Left closed, at 0 to " + quantity.Format(k.Amps, quantity.Ampere, 2) + ", the chip’s total would be known to ±" +
			quantity.Format(k.After, quantity.Watt, 2) + " instead of ±" + quantity.Format(k.Before, quantity.Watt, 2) + "."
	}
	return v
}

// openingFigures are an opening's figures that are known.
func openingFigures(r *plan.Rail, o *plan.Opening) (out []namedText) {
	put := func(name string, x float64, u quantity.Unit, digits int) {
		if !math.IsNaN(x) && x > 0 {
			out = append(out, namedText{name, quantity.Format(x, u, digits)})
		}
	}
	if !r.Known {
		return nil
	}
	put("at most", o.Current, quantity.Ampere, 3)
	put("added", o.Added, quantity.Ohm, 2)
	put("drop", o.Drop, quantity.Volt, 2)
	if o.Added > 0 && o.Band > 0 {
		out = append(out, namedText{"of what it may fall", quantity.FormatPercent(o.Drop/o.Band, 2)})
	}
	put("warms by", o.Rise, quantity.Kelvin, 2)
	put("melts at", o.Fuses, quantity.Ampere, 2)
	put("inductance", o.Henries, quantity.Henry, 2)
	if o.SmallOK {
		out = append(out, namedText{"thinnest wire", "AWG " + quantity.Format(float64(o.Smallest), quantity.None, 2)})
	}
	put("longest loop", o.Longest, quantity.Metre, 2)
	return out
}

// railChecks is the part of a rail's page that says what its opening does, as it is
// typed.
type railChecks struct {
	Rail   *checkedRail
	Aims   aimsView
	Wait   string
	Faults []fieldFault
}

// checkRail checks a rail as its form is typed: what its opening does, what could
// read it, and what becomes of the aims. Nothing is kept.
func (c *planChecks) checkRail(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	board, was := nameIn(r, "board"), nameIn(r, "rail")
	kept, err := c.asKept(r.Context(), id)
	if err != nil {
		return err
	}
	var rail *study.Rail
	x, err := c.foresee(r.Context(), id, func(s *study.Study) error {
		rail = typedRail(f, s, board, was)
		return nil
	}, func(b, name string) bool { return b == board && rail != nil && name == rail.Name })
	if err != nil {
		return err
	}
	v := railChecks{}
	for _, name := range f.order {
		// What was not typed yet is no fault of a rail that is being made.
		if f.Raw(name) != "" {
			v.Faults = append(v.Faults, *f.fault(name))
		}
	}
	for _, k := range x.faults {
		if len(k.Path) >= 4 && k.Path[0] == "boards" && k.Path[1] == board && rail != nil && k.Path[3] == rail.Name {
			v.Faults = append(v.Faults, fieldFault{sentence(k.Message), k.Accept})
		}
	}
	switch {
	case rail == nil || strings.TrimSpace(f.Raw("nominal")) == "":
		v.Wait = "Say its nominal voltage and how its current is read; what its opening does is then told here."
	case len(v.Faults) > 0:
		v.Wait = "Mend this and the checks come back."
	default:
		c.alone(r, x, board, rail, &v)
		v.Aims = aimsOf(id, x, kept.plan)
	}
	return c.s.part(w, r, http.StatusOK, "plan-rail", "plan-check-rail-said", v)
}

// alone finds the rail in the plan; where the study as a whole cannot be planned
// yet, the rail is planned by itself.
func (c *planChecks) alone(r *http.Request, x *foreseen, board string, rail *study.Rail, v *railChecks) {
	p := x.plan
	if p == nil {
		s := *x.study
		b := *s.Board(board)
		b.Rails, b.Inputs = []*study.Rail{rail}, nil
		lone := *rail
		lone.From, lone.Checks, lone.Aside = nil, "", false
		b.Rails[0] = &lone
		s.Boards, s.Aims, s.Claims, s.Comparisons, s.Order, s.BothWays, s.Proofs, s.Cooling = []*study.Board{&b}, nil, nil, nil, nil, nil, nil, nil
		s.Expected = slices.DeleteFunc(slices.Clone(s.Expected), func(e *study.Expected) bool { return e.Board != board || e.Rail != rail.Name })
		if len(s.States) == 0 {
			s.States = []*study.State{{Name: "as it is"}}
		}
		if s.Question == "" {
			s.Question = "?"
		}
		if f := study.Check(&s); len(f) > 0 {
			v.Wait = sentence(f[0].Message) + " Mend that and the checks come."
			return
		}
		var err error
		if p, err = plan.Make(r.Context(), &s, c.options(&s, x.read)); err != nil {
			v.Wait = sentence(err.Error())
			return
		}
	}
	for _, b := range p.Boards {
		for _, k := range b.Rails {
			if b.Name == board && k.Name == rail.Name {
				y := checkedRailOf(b, k)
				v.Rail = &y
			}
		}
	}
}

// typedRail puts a rail as its form says into a study, and what it is expected to
// carry; nil where it has no name yet and cannot be given one.
func typedRail(f *form, s *study.Study, board, was string) *study.Rail {
	b := s.Board(board)
	if b == nil {
		return nil
	}
	old := &study.Rail{}
	if x := b.Rail(was); x != nil {
		old = x
	}
	rail, input := readRail(f, old)
	if rail.Name == "" {
		rail.Name = "this rail"
	}
	putRail(f, b, was, rail, input)
	renamed(s, names{board: board, rails: map[string]string{was: rail.Name}})
	expectRail(f, s, board, rail.Name)
	return rail
}

// expectField asks on a rail's form what the rail will carry.
func expectField(f *form, s *study.Study, board, rail string) field {
	if _, typed := f.values["expect"]; !typed {
		for _, e := range s.Expected {
			if e.Board == board && e.Rail == rail && e.State == "" {
				f.values.Set("expect", expectedText(e))
			}
		}
	}
	return f.fill(field{Name: "expect", Label: "Expected to carry", Wide: true, Hint: "1.2 A, or 10..50 mA; a guess will do. State by state it stands under “Before opening”."})
}

// expectRail keeps what a rail's form says that it will carry in states that have no
// line of their own.
func expectRail(f *form, s *study.Study, board, rail string) {
	if _, asked := f.values["expect"]; !asked {
		return
	}
	e := readExpectation(f, "expect", board, rail, "")
	setExpected(s, board, rail, "", e)
}
