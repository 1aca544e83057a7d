package report

import (
	"fmt"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// view is everything the templates set, as text.
type view struct {
	Title, Note string
	Subject     string // what was measured, and when
	Answer      []string
	Level       string // "± is the half-width of …"
	Percent     string // "95 %"
	Empty       bool   // no state was measured at all

	Headlines   []headline
	Totals      *picture
	Boards      []*boardView
	Differences *differencesView
	Claims      []claimView
	Effects     *effectsView
	Cooling     []*coolingView
	Budgets     []*budgetView
	Sittings    *sittingsView
	Recorded    []*recordedView
	Method      *methodView
	Instruments []*instrumentView
	Findings    []findingGroup
	Cautions    []caution
	NotAssessed []string
	Colophon    string
}

// sections lists the anchors that the page itself uses.
var sections = [...]string{
	"top", "main", "answer", "totals", "rails", "differences", "claims", "effects", "cooling", "opened", "budget", "sittings",
	"recorded", "method", "instruments", "findings", "cautions", "not-assessed", "reading", "contents",
}

// assembler builds the view of one tally.
type assembler struct {
	t       *tally.Tally
	anchors *anchors
	opt     Options
}

func assemble(t *tally.Tally, opt Options) (*view, error) {
	a := &assembler{t: t, anchors: newAnchors(sections[:]...), opt: opt}
	v := &view{
		Title: t.Study.Question, Note: prose(t.Study.Note), Subject: a.subject(),
		Level: prose(t.LevelText()), Percent: firm(tally.Percent(t.Level)), Empty: true,
		Headlines: a.headlines(), Method: a.method(), Instruments: a.instruments(),
		Findings: a.findings(), Cautions: cautions(), NotAssessed: a.notAssessed(), Colophon: a.colophon(),
	}
	if v.Title == "" {
		v.Title = "A study without a question"
	}
	for _, s := range t.Answer() {
		v.Answer = append(v.Answer, prose(s))
	}
	for _, b := range t.Boards {
		bv, err := a.board(b)
		if err != nil {
			return nil, err
		}
		v.Boards = append(v.Boards, bv)
		v.Empty = v.Empty && len(b.States) == 0
	}
	var err error
	if v.Totals, err = a.totalsChart(); err != nil {
		return nil, err
	}
	if v.Differences, err = a.differences(); err != nil {
		return nil, err
	}
	v.Claims = a.claims()
	if v.Effects, err = a.effects(); err != nil {
		return nil, err
	}
	if v.Cooling, err = a.coolings(); err != nil {
		return nil, err
	}
	if v.Budgets, err = a.budgets(); err != nil {
		return nil, err
	}
	if v.Sittings, err = a.sittings(); err != nil {
		return nil, err
	}
	v.Recorded = a.recorded()
	return v, nil
}

// subject says what was measured and on which days.
func (a *assembler) subject() string {
	var boards []string
	for _, b := range a.t.Study.Boards {
		name := b.Name
		if b.Chip != "" {
			name += " (" + b.Chip + ")"
		}
		boards = append(boards, name)
	}
	if len(boards) == 0 {
		return "No board is recorded."
	}
	text := "Power of the chip on " + quantity.Join(boards)
	var first, last time.Time
	for _, s := range a.t.Study.Sittings {
		if first.IsZero() || s.On.Before(first) {
			first = s.On
		}
		if s.On.After(last) {
			last = s.On
		}
	}
	switch n := len(a.t.Study.Sittings); {
	case n == 0:
		return text + ". Nothing has been measured yet."
	case day(first) == day(last):
		return text + ", measured on " + day(first) + "."
	default:
		return fmt.Sprintf("%s, measured in %s from %s.", text, count(n, "sitting"), days(first, last))
	}
}

func (a *assembler) colophon() string {
	text := ""
	if a.opt.Program != "" {
		text = "Computed and set by " + a.opt.Program
		if !a.opt.On.IsZero() {
			text += " on " + day(a.opt.On)
		}
		text += "."
	} else if !a.opt.On.IsZero() {
		text = "Set on " + day(a.opt.On) + "."
	}
	return text
}

// day writes a date for people: "14 March 2026".
func day(t time.Time) string { return t.Format("2" + noBreak + "January" + noBreak + "2006") }

// days writes a span of dates, each part once: "14 to 15 March 2026".
func days(first, last time.Time) string {
	from := day(first)
	switch {
	case first.Year() == last.Year() && first.Month() == last.Month():
		from = first.Format("2")
	case first.Year() == last.Year():
		from = first.Format("2" + noBreak + "January")
	}
	return from + " to " + day(last)
}

// when writes the start of a sitting, with the time of day where it is known.
func when(s *study.Sitting) string {
	if s.Clock {
		return day(s.On) + ", " + s.On.Format("15:04")
	}
	return day(s.On)
}

var numerals = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}

// count writes "one sitting", "three sittings", "14 sittings".
func count(n int, noun string) string {
	word := fmt.Sprint(n)
	if n >= 0 && n < len(numerals) {
		word = numerals[n]
	}
	if n != 1 {
		noun += "s"
	}
	return word + " " + noun
}
