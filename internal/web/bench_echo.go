package web

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"railtally/gum"
	"railtally/internal/notebook"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// echo is what a typed reading means, told before it is kept. Every figure in
// it comes out of a tally of the record with the reading in its place.
type echo struct {
	OK      bool     `json:"ok"`
	Bare    string   `json:"bare"`    // the unit that bare figures were taken in
	Reads   string   `json:"reads"`   // "3 repeats, mean 511 mV"
	Current string   `json:"current"` // "5.12 ± 0.09 A"
	Power   string   `json:"power"`   // of the rail: "4.86 ± 0.10 W"
	Proviso string   `json:"proviso"` // what the power rests on while the voltage is missing
	Change  string   `json:"change"`  // since the last such reading
	Total   string   `json:"total"`   // of the chip so far in this state
	Trials  []judged `json:"trials"`  // how the trials come out that it is part of

	Findings []sensing.Finding `json:"findings"`
	Taken    string            `json:"-"` // what a live reading rests on, for a page without scripts
	Error    string            `json:"error,omitempty"`
	Accept   string            `json:"accept,omitempty"`
}

// candidate is a reading that is not kept yet.
type candidate struct {
	Text         string
	Meter, Range string
	FeedSide     bool
	At           time.Time
}

// echo tells what a candidate at a slot would mean.
func (o *order) echo(s *wanted, c candidate) *echo {
	if s.Kind == notebook.Note {
		return &echo{OK: strings.TrimSpace(c.Text) != ""}
	}
	e, bare, err := o.read(s, c.Text)
	if err != nil {
		out := &echo{Error: err.Error()}
		var q *quantity.Error
		if errors.As(err, &q) {
			out.Error, out.Accept = q.Msg, q.Accept
		}
		return out
	}
	out := &echo{OK: true, Bare: bare, Reads: said(e)}
	m := o.excerpt(s, c, e)
	if faults := m.faults(); len(faults) > 0 {
		for _, f := range faults {
			out.Findings = append(out.Findings, sensing.Finding{Code: "record", Severity: sensing.Doubtful,
				Text: phrase.Name(sentence(f.Message)), Do: phrase.Name(sentence(f.Accept))})
		}
		return out
	}
	out.Trials = m.judge()
	if err := m.run(out); err != nil {
		out.Findings = append(out.Findings, sensing.Finding{Code: "not-computed", Severity: sensing.Doubtful, Text: phrase.Name(sentence(err.Error()))})
	}
	if out.Findings == nil {
		out.Findings = []sensing.Finding{}
	}
	return out
}

// sentence begins a message with a capital and ends it with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + strings.TrimSuffix(text[1:], ".") + "."
}

// said is an entry as it was understood.
func said(e quantity.Entry) string {
	digits := func(x float64) int {
		if e.Step <= 0 || x == 0 {
			return 4
		}
		return max(1, min(9, 1+int(math.Floor(math.Log10(math.Abs(x))+1e-9))-int(math.Round(math.Log10(e.Step)))))
	}
	show := func(x float64) string { return quantity.Format(x, e.Unit, digits(x)) }
	text := e.String()
	switch e.Kind {
	case quantity.Band:
		return "between " + show(e.Values[0]) + " and " + show(e.Values[1])
	case quantity.Repeats:
		return fmt.Sprintf("%d repeats, mean %s", len(e.Values), show(e.Value()))
	}
	if e.Unit == quantity.BytePerSecond {
		text = quantity.Format(e.Value(), e.Unit, 4)
	}
	return text
}

// run computes what the reading means.
func (x *excerpt) run(out *echo) error {
	s := x.slot
	t, err := tally.Run(x.study, tally.Options{})
	if err != nil {
		return err
	}
	if s.Kind == notebook.Zero {
		return x.runZero(out)
	}
	for _, f := range t.Findings {
		// That something is still to be read is what the page is there for.
		if slices.Contains(f.States, s.visit.State) && f.Rail == s.Rail && f.Code != "rail-missing" && f.Code != "nominal-voltage" {
			out.Findings = append(out.Findings, f)
		}
	}
	st := t.State(study.StateOn{Board: x.o.board.Name, State: s.visit.State})
	if st == nil {
		return nil
	}
	out.Total = soFar(st)
	r := st.Rail(s.Rail)
	if r == nil || r.Bound != nil {
		return nil
	}
	out.Current = figureText(r.Drawn, quantity.Ampere)
	out.Power = figureText(r.Power, quantity.Watt)
	if r.Stands {
		out.Proviso = "with the nominal voltage, until it is read"
	}
	if was := t.State(study.StateOn{Board: x.o.board.Name, State: earlier}); was != nil {
		if w := was.Rail(s.Rail); w != nil {
			di, err := change(t, r.Drawn.Value.Sub(w.Drawn.Value), quantity.Ampere)
			if err != nil {
				return err
			}
			dp, err := change(t, r.Power.Value.Sub(w.Power.Value), quantity.Watt)
			if err != nil {
				return err
			}
			out.Change = di + ", " + dp + " against " + x.since
		}
	}
	return nil
}

// runZero tells by how much a zero moved since the one before it.
func (x *excerpt) runZero(out *echo) error {
	s := x.slot
	var was *study.Zero
	for _, st := range x.o.sitting.Steps {
		if x.o.record.StepOf[st] == s.visit.Step {
			break
		}
		if i := slices.IndexFunc(st.Zeros, s.isZero); i >= 0 {
			was = st.Zeros[i]
		}
	}
	if was == nil {
		return nil
	}
	if i := slices.IndexFunc(x.step.Zeros, s.isZero); i >= 0 {
		z := x.step.Zeros[i]
		out.Change = signed(z.Reading.Value()-was.Reading.Value(), z.Reading.Unit) + " since the last zero"
	}
	return nil
}

// change writes a difference with its sign and its interval.
func change(t *tally.Tally, v gum.Value, u quantity.Unit) (string, error) {
	r, err := t.Graph.Result(v)
	if err != nil {
		return "", err
	}
	text := quantity.FormatU(r.Estimate, r.K(t.Level)*r.U, u)
	if r.Estimate > 0 {
		text = "+" + text
	}
	return text, nil
}

func signed(x float64, u quantity.Unit) string {
	if x > 0 {
		return "+" + quantity.Format(x, u, 2)
	}
	return quantity.Format(x, u, 2)
}

func figureText(f tally.Figure, u quantity.Unit) string {
	return quantity.FormatU(f.Estimate, f.Expanded, u)
}

// soFar is the total of a state, or how much of it is still to be read.
func soFar(st *tally.State) string {
	if st.Complete {
		return figureText(st.Total, quantity.Watt)
	}
	sum := 0.0
	for _, r := range st.Rails {
		if !r.Aside && r.Bound == nil {
			sum += r.Power.Estimate
		}
	}
	return quantity.Format(sum, quantity.Watt, 3) + " without " + quantity.Join(st.Missing)
}
