package web

import (
	"fmt"
	"math"
	"net/url"

	"railtally/internal/chart"
	"railtally/internal/cooling"
	"railtally/internal/quantity"
	"railtally/internal/report"
)

// coolingLive is what changes while sliders move.
type coolingLive struct {
	Said              []field // every field with its fault or hint, for the script
	Now               coolingNow
	Tried             []string // sentences of the trial
	Refused           bool
	Doubts            []string
	Ladder, Rise, Map any
	MapOf             string
	First             *coolingAnswer  // whether it needs a fan
	Answers           []coolingAnswer // the others
	Candidates        []candidateRow
	Cautions          []string
	Settling          []settlingView
	Temperatures      []temperatureRow
	Findings          []string
	Reset             string // address without the trial
	Changed           bool
	NoModel           string
}

// coolingNow is the one figure that the page is about.
type coolingNow struct {
	Point, Where  string
	Temperature   string
	Href          string
	Verdict, Word string // class and word; empty where nothing is limited
	Margin        string
	Was           string // as it is, where something is tried
}

type coolingAnswer struct{ Title, Verdict, Word, Text, Rests string }

type candidateRow struct {
	Name, What, Href, Temperature, Margin, Probability, Trouble string
	Verdict, Word                                               string
	Here                                                        bool
}

type settlingView struct {
	Title   string
	Picture any
	Says    []string
}

type temperatureRow struct {
	State, Sitting, Point, Href                string
	Power, PowerHref, Temperature, Rise, Theta string
	Note                                       string
}

// questionTitles are the answers' questions as they are asked on the page.
var questionTitles = map[string]string{"passive": "Without a fan?", "how far": "How far could it go?", "board alone": "On the board alone?",
	"sink": "Which sink?", "fan": "What would moving air buy?"}

// verdictOf is the class and the word of a verdict, in words for the question.
func verdictOf(v cooling.Verdict, yes, no string) (class, word string) {
	switch v {
	case cooling.Yes:
		return "resolved", yes
	case cooling.No:
		return "refuted", no
	}
	return "open", "cannot be said yet"
}

// mapCells is how many powers and rooms the page's map has.
const mapCells = 48

// live works out everything for what is asked. Hold the desk's mu.
func (a *coolingAsk) live(id int64, path string) (*coolingLive, error) {
	b, c := a.x.board, a.x.Cooling
	v := &coolingLive{Refused: a.refused, Changed: a.trial != nil}
	for _, g := range a.groups() {
		for _, f := range g.Fields {
			v.Said = append(v.Said, f.field)
		}
	}
	v.Reset = path + "?" + a.query(true).Encode()
	if b.NoModel != nil {
		v.NoModel = report.Prose("Another sink cannot be computed: " + b.NoModel.Error() + ".")
	}
	here := a.query(false)
	if err := a.now(v, id, here); err != nil {
		return nil, err
	}
	if err := a.pictures(v); err != nil {
		return nil, err
	}
	for _, x := range a.x.answers {
		w := coolingAnswer{Title: questionTitles[x.Question], Text: report.Tell(x.Text), Rests: report.Tell(x.Rests)}
		switch x.Question {
		case "passive", "board alone":
			w.Verdict, w.Word = verdictOf(x.Verdict, "yes", "no")
		}
		if x.Question == "passive" {
			v.First = &w
			continue
		}
		v.Answers = append(v.Answers, w)
	}
	a.candidates(v, path)
	cautions, err := c.Cautions(b)
	if err != nil {
		return nil, err
	}
	for _, s := range cautions {
		v.Cautions = append(v.Cautions, report.Tell(s))
	}
	if err := a.temperatures(v, id, here); err != nil {
		return nil, err
	}
	for _, f := range b.Findings {
		v.Findings = append(v.Findings, report.Tell(f.Text)+" "+report.Tell(f.Do))
	}
	return v, nil
}

// query is the address of what is asked, with or without what is tried.
func (a *coolingAsk) query(askOnly bool) url.Values {
	out := url.Values{"board": {a.board}}
	keep := []string{"power", "room", "altitude", "limit"}
	if !askOnly {
		for _, k := range cooling.SettingKeys {
			keep = append(keep, fieldOf(k))
		}
	}
	for _, k := range keep {
		if x := a.form.Raw(k); x != "" {
			out.Set(k, x)
		}
	}
	return out
}

// deciding is the prediction that the page is about, as tried or as it is.
func (a *coolingAsk) deciding(t *cooling.Trial) (*cooling.Prediction, error) {
	b, c := a.x.board, a.x.Cooling
	if t != nil {
		return cooling.Worst(t.Points), nil
	}
	p := c.Deciding(b)
	if p == nil || !b.Ask.Known() {
		return nil, nil
	}
	return c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
}

func (a *coolingAsk) now(v *coolingLive, id int64, here url.Values) error {
	b, c := a.x.board, a.x.Cooling
	pr, err := a.deciding(a.trial)
	if err != nil || pr == nil {
		return err
	}
	v.Now = coolingNow{Point: pr.Point.Name, Temperature: stated(pr.Temperature.Estimate, pr.Temperature.Expanded, quantity.Celsius),
		Href: at("studies", id, "cooling", b.Name, pr.Point.Name) + "?" + here.Encode(), Where: report.Tell(c.Conditions(b, pr))}
	if pr.Limited {
		v.Now.Verdict, v.Now.Word = verdictOf(cooling.Judge(pr.Probability, c.Level), "limit kept", "limit broken")
		v.Now.Margin = report.Tell(cooling.Margin(pr))
	}
	if a.trial == nil {
		return nil
	}
	for _, s := range c.TrialSentences(b, a.trial) {
		v.Tried = append(v.Tried, report.Tell(s))
	}
	for _, s := range a.trial.Doubts {
		v.Doubts = append(v.Doubts, report.Prose(s))
	}
	if p := pr.Point; p.Line != nil {
		was, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			return err
		}
		v.Now.Was = stated(was.Temperature.Estimate, was.Temperature.Expanded, quantity.Celsius)
	}
	return nil
}

// stated is a figure that is not parted at the end of a line.
func stated(x, expanded float64, u quantity.Unit) string {
	if expanded == 0 {
		return firmly(quantity.Format(x, u, 3))
	}
	return firmly(quantity.FormatU(x, expanded, u))
}

func (a *coolingAsk) pictures(v *coolingLive) error {
	b, c := a.x.board, a.x.Cooling
	h, err := c.Path(b)
	if a.trial != nil {
		h, err = c.PathAfter(b, a.trial)
	}
	if err != nil {
		return err
	}
	if h != nil {
		if v.Ladder, err = report.Picture("heat", func(o chart.Options) (*chart.Drawing, error) { return chart.Ladder(h, c.Level, o) }); err != nil {
			return err
		}
	}
	if v.Rise, err = report.Picture("rise", func(o chart.Options) (*chart.Drawing, error) { return chart.RiseAfter(c, b, a.trial, o) }); err != nil {
		return err
	}
	p := c.Deciding(b)
	if p == nil {
		return nil
	}
	m := c.MapOf(b, p, mapCells)
	if a.trial != nil {
		if m, err = c.MapAfter(b, p, a.trial, mapCells); err != nil {
			return err
		}
	}
	if m != nil {
		v.MapOf = p.Name
		v.Map, err = report.Picture("map", func(o chart.Options) (*chart.Drawing, error) { return chart.ThermalMap(m, o) })
	}
	return err
}

func (a *coolingAsk) candidates(v *coolingLive, path string) {
	here := a.query(false).Encode()
	for _, x := range a.x.candidates {
		q := a.query(true)
		for _, s := range x.Settings {
			q.Set(fieldOf(s.Key), s.Text)
		}
		row := candidateRow{Name: x.Name, What: report.Prose(x.What), Href: path + "?" + q.Encode(), Here: q.Encode() == here}
		switch {
		case x.Err != nil:
			row.Trouble = report.Prose(x.Err.Error())
		case x.Worst != nil:
			row.Temperature = stated(x.Worst.Temperature.Estimate, x.Worst.Temperature.Expanded, quantity.Celsius)
			if x.Worst.Limited {
				row.Margin = firmly(fmt.Sprintf("%+.1f K", x.Worst.Margin))
				row.Probability = firmly(cooling.Percent(x.Worst.Probability).String())
				row.Verdict, row.Word = verdictOf(cooling.Judge(x.Worst.Probability, a.x.Level), "kept", "broken")
			}
		}
		v.Candidates = append(v.Candidates, row)
	}
}

// temperatures lists the readings, and how series of them settle.
func (a *coolingAsk) temperatures(v *coolingLive, id int64, here url.Values) error {
	b, c := a.x.board, a.x.Cooling
	for _, p := range b.Points {
		for i, r := range p.Readings {
			row := temperatureRow{State: r.On.State, Sitting: r.Sitting.Name, Point: p.Name,
				Href:  at("studies", id, "cooling", b.Name, p.Name) + "?" + here.Encode() + fmt.Sprintf("#reading-%d", i+1),
				Power: stated(r.Power.Estimate, r.Power.Expanded, quantity.Watt), PowerHref: at("studies", id, "results", b.Name, r.On.State),
				Temperature: stated(r.Temperature.Estimate, r.Temperature.Expanded, quantity.Celsius), Rise: stated(r.Rise.Estimate, r.Rise.Expanded, quantity.Kelvin),
				Theta: stated(r.Resistance.Estimate, r.Resistance.Expanded, quantity.KelvinPerWatt), Note: settledNote(r)}
			v.Temperatures = append(v.Temperatures, row)
			if len(r.Seconds) == 0 {
				continue
			}
			x, err := settlingOf(r, c.Level, fmt.Sprintf("settle-%d", len(v.Settling)+1))
			if err != nil {
				return err
			}
			v.Settling = append(v.Settling, *x)
		}
	}
	return nil
}

// settledNote says in a word whether a reading had settled.
func settledNote(r *cooling.Reading) string {
	switch {
	case r.Unsettled != nil:
		return "not settled: takes no part"
	case r.Settling != nil && !r.Settling.Settled:
		return firmly(fmt.Sprintf("extrapolated by %.1f K", r.Settling.Remaining))
	case r.Settling != nil:
		return "settled"
	}
	return ""
}

// settlingOf is a series with what it says.
func settlingOf(r *cooling.Reading, level float64, pictureID string) (*settlingView, error) {
	v := &settlingView{Title: r.Name + " in " + r.On.String()}
	var err error
	if v.Picture, err = report.Picture(pictureID, func(o chart.Options) (*chart.Drawing, error) { return chart.Settle(r, level, o) }); err != nil {
		return nil, err
	}
	if r.Unsettled != nil {
		v.Says = []string{report.Prose("Nothing is claimed: " + r.Unsettled.Error() + ".")}
		return v, nil
	}
	x := r.Settling
	text := fmt.Sprintf("It ends at %s. %.0f %% of the change was seen in %.0f min", quantity.FormatU(r.Temperature.Estimate, r.Temperature.Expanded, quantity.Celsius), 100*math.Min(1, x.Seen), x.Minutes)
	if x.Tau > 0 {
		text += fmt.Sprintf(", with a time constant of %.1f min near the end", x.Tau/60)
	}
	text += "."
	if d := x.Exponential - x.Final; d > 0.15 {
		text += fmt.Sprintf(" A plain exponential would end %.1f K hotter: it does not know that warm air moves faster.", d)
	}
	v.Says = append(v.Says, report.Prose(text))
	for _, w := range x.Warnings {
		v.Says = append(v.Says, report.Prose(upperFirst(w)+"."))
	}
	return v, nil
}
