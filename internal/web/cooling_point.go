package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"railtally/gum"
	"railtally/internal/cooling"
	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// coolingPoint is one predicted temperature opened: the law it follows, what
// limits it, and the readings behind it.
type coolingPoint struct {
	Up, Board, Point string
	Stated, Where    string
	Margin           string
	How              []string // sentences: from the room up to the figure
	Causes, Inputs   []coolingShare
	Readings         []coolingReading
	Limit            string
}

// coolingShare is one part of the variance, in kelvins.
type coolingShare struct {
	Name, Percent, U, Bar string
	Against               bool
}

// coolingReading is one reading opened.
type coolingReading struct {
	ID, Title, Written, Thermometer, Room string
	Temperature, Rise, Power, Theta       string
	PowerHref, Note                       string
	Shares                                []coolingShare
	Settling                              *settlingView
}

func (s *Server) showCoolingPoint(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	board, point := nameIn(r, "board"), nameIn(r, "point")
	boards := cooledBoards(t.desk.study)
	query := r.URL.Query()
	query.Set("board", board)
	t.desk.mu.Lock()
	defer t.desk.mu.Unlock()
	a, err := t.desk.read(boards, query)
	if err != nil {
		return err
	}
	if a.board != board || a.x == nil || a.x.board.Named(point) == nil {
		return notFound("no temperature called " + point + " was read on " + board)
	}
	v, err := a.point(id, a.x.board.Named(point))
	if err != nil {
		return err
	}
	return s.render(w, r, "cooling-point", page{Title: point + " of " + board, Study: t.opened(id), Tab: "cooling", Live: true, Styles: []string{"cooling.css"}, Data: v})
}

func (a *coolingAsk) point(id int64, p *cooling.Point) (*coolingPoint, error) {
	b, c := a.x.board, a.x.Cooling
	v := &coolingPoint{Up: at("studies", id, "cooling") + "?" + a.query(false).Encode(), Board: b.Name, Point: p.Name}
	pr, err := a.prediction(p)
	if err != nil {
		return nil, err
	}
	if pr != nil {
		v.Stated, v.Where = stated(pr.Temperature.Estimate, pr.Temperature.Expanded, quantity.Celsius), report.Tell(c.Conditions(b, pr))
		if pr.Limited {
			v.Margin = report.Tell(cooling.Margin(pr))
		}
		if v.Causes, v.Inputs, err = a.shares(pr.Temperature); err != nil {
			return nil, err
		}
		for _, s := range a.how(p, pr) {
			v.How = append(v.How, report.Prose(s))
		}
	}
	for i, r := range p.Readings {
		x, err := a.reading(id, p, r, i+1)
		if err != nil {
			return nil, err
		}
		v.Readings = append(v.Readings, *x)
	}
	return v, nil
}

// prediction is that of a point, after the change where one is tried; nil where
// there is none.
func (a *coolingAsk) prediction(p *cooling.Point) (*cooling.Prediction, error) {
	if a.trial != nil {
		for _, pr := range a.trial.Points {
			if pr.Point == p {
				return pr, nil
			}
		}
		return nil, nil
	}
	if b := a.x.board; p.Line != nil && b.Ask.Known() {
		return a.x.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
	}
	return nil, nil
}

// how tells in sentences where a prediction comes from.
func (a *coolingAsk) how(p *cooling.Point, pr *cooling.Prediction) []string {
	var out []string
	if l := p.Law; l != nil {
		text := fmt.Sprintf("The %s stands %s over the room at %s, and this rise grows as power to the %s", nameOfLaw(a.x.board, p), quantity.FormatU(l.Rise.Estimate, l.Rise.Expanded, quantity.Kelvin),
			quantity.Format(l.P0, quantity.Watt, 3), quantity.FormatU(l.Exponent.Estimate, l.Exponent.Expanded, quantity.None))
		switch {
		case l.Beforehand > 0.99:
			text += fmt.Sprintf(": what is known of it before anything was measured, %.2f to %.2f.", l.BandLo, l.BandHi)
		default:
			text += fmt.Sprintf(", from %d readings at %.3g to %.3g W; %.0f %% of the exponent comes from what is known beforehand (%.2f to %.2f).", l.N0, l.PMin, l.PMax, 100*l.Beforehand, l.BandLo, l.BandHi)
		}
		out = append(out, text)
		scatter := fmt.Sprintf("Single readings scatter about that law by %.2g K (one standard deviation), as their residuals show.", l.Scatter)
		if !l.Assessed {
			scatter = "How far readings scatter was not seen, as there are fewer than four; ±1 K stands in (common practice, no source)."
		}
		out = append(out, scatter)
		rise := pr.Temperature.Estimate - pr.Room.Estimate
		if a.trial == nil {
			out = append(out, fmt.Sprintf("At %s that makes %.3g K, and with the room %s: %s.", quantity.Format(pr.Power.Estimate, quantity.Watt, 4), rise,
				quantity.Format(pr.Room.Estimate, quantity.Celsius, 3), quantity.FormatU(pr.Temperature.Estimate, pr.Temperature.Expanded, quantity.Celsius)))
		} else if !math.IsNaN(a.trial.Ratio) {
			out = append(out, fmt.Sprintf("By the model, the change makes the rise of the case %.3g times what it is (%.3g K of this point after it); the distance from what was measured costs ±%.1f %% of the rise (common practice, no source).",
				a.trial.Ratio, rise, 100*a.trial.Discrepancy))
		}
	}
	if m := a.x.board.Model; a.trial != nil && m != nil && m.Calibrated {
		out = append(out, fmt.Sprintf("The model is set by the %s as measured: the sink gives off %s times the heat that the formulas say.", m.At.Name, quantity.FormatU(m.Factor.Estimate, m.Factor.Expanded, quantity.None)))
	}
	return out
}

// nameOfLaw is the point that a law was fitted to: the junction has the case's.
func nameOfLaw(b *cooling.Board, p *cooling.Point) string {
	if len(p.Readings) > 0 {
		return p.Name
	}
	for _, x := range b.Points {
		if x.Law == p.Law && len(x.Readings) > 0 {
			return x.Name
		}
	}
	return p.Name
}

// shares divides the variance of a figure by cause and by input.
func (a *coolingAsk) shares(f tally.Figure) (causes, inputs []coolingShare, err error) {
	g := a.x.Tally.Graph
	byCause, err := g.BudgetBy(f.Value, "cause")
	if err != nil {
		return nil, nil, err
	}
	all, err := g.Budget(f.Value)
	return kelvins(byCause, 8), kelvins(all, 8), err
}

func kelvins(list []gum.Share, most int) (out []coolingShare) {
	for i, s := range list {
		if i == most || math.Abs(s.Fraction) < 0.0005 {
			break
		}
		name := s.Name
		if name == "" {
			name = "the rest"
		}
		out = append(out, coolingShare{report.Prose(name), firmly(fmt.Sprintf("%.1f %%", 100*s.Fraction)), firmly(quantity.Format(s.U, quantity.Kelvin, 2)),
			fmt.Sprintf("%.1f%%", 100*math.Min(1, math.Abs(s.Fraction))), s.Fraction < 0})
	}
	return out
}

func (a *coolingAsk) reading(id int64, p *cooling.Point, r *cooling.Reading, n int) (*coolingReading, error) {
	v := &coolingReading{ID: fmt.Sprintf("reading-%d", n), Title: r.On.State + ", " + r.Sitting.Name,
		Temperature: stated(r.Temperature.Estimate, r.Temperature.Expanded, quantity.Celsius), Rise: stated(r.Rise.Estimate, r.Rise.Expanded, quantity.Kelvin),
		Power: stated(r.Power.Estimate, r.Power.Expanded, quantity.Watt), Theta: stated(r.Resistance.Estimate, r.Resistance.Expanded, quantity.KelvinPerWatt),
		PowerHref: at("studies", id, "results", r.On.Board, r.On.State), Note: settledNote(r)}
	written, thermometer := asWritten(r)
	v.Written, v.Thermometer = firmly(written), thermometer
	if in := a.x.Tally.Study.Instrument(thermometer); in != nil {
		v.Thermometer = in.Name
		if len(in.Ranges) > 0 && in.Ranges[0].Spec != nil {
			v.Thermometer += ", " + firmly(in.Ranges[0].Spec.String())
		}
	}
	if r.Sitting.Room != nil {
		v.Room = firmly(r.Sitting.Room.String())
	}
	var err error
	if v.Shares, _, err = a.shares(r.Rise); err != nil {
		return nil, err
	}
	if len(r.Seconds) > 0 {
		v.Settling, err = settlingOf(r, a.x.Level, fmt.Sprintf("opened-%d", n))
	}
	return v, err
}

// asWritten is what was written down of a reading, and what read it.
func asWritten(r *cooling.Reading) (text, thermometer string) {
	var list []string
	thermometer = r.Sitting.Thermometer
	for _, step := range r.Sitting.Steps {
		if step.State != r.On.State {
			continue
		}
		for _, n := range step.Temperatures {
			if n.Name != r.Name {
				continue
			}
			list = append(list, n.Reading.Entry.String())
			if n.Reading.Meter != "" {
				thermometer = n.Reading.Meter
			}
		}
	}
	if len(list) > 4 {
		return fmt.Sprintf("%s … %s (%d readings)", list[0], list[len(list)-1], len(list)), thermometer
	}
	return strings.Join(list, ", "), thermometer
}

// firmly keeps what belongs together on one line.
func firmly(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
