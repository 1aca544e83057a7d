package report

import (
	"html/template"
	"slices"
	"time"

	"railtally/internal/phrase"
	"railtally/internal/plan"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// view is everything the templates set, as text.
type view struct {
	Language    string
	Title, Note string
	Subject     string          // what was measured, and when
	Words       []template.HTML // the author's
	Answer      []string
	Level       string // "± is the half-width of …"
	Percent     string // "95 %"
	Empty       bool   // no state was measured at all

	Headlines   []headline
	Totals      *picture
	Boards      []*boardView
	Differences *differencesView
	Matrices    *matricesView
	Claims      []claimView
	Effects     *effectsView
	Cooling     []*coolingView
	Budgets     []*budgetView
	Sittings    *sittingsView
	Trials      *trialsView
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
	"top", "main", "answer", "totals", "rails", "differences", "matrix", "claims", "effects", "cooling", "opened", "budget", "sittings", "trials",
	"recorded", "method", "instruments", "findings", "cautions", "not-assessed", "reading", "contents",
}

// assembler builds the view of one tally.
type assembler struct {
	tongue
	t       *tally.Tally
	anchors *anchors
	opt     Options

	made     []plan.Proof // the trials, once they are judged
	proved   bool
	unproved error
}

func assemble(t *tally.Tally, opt Options, chosen []string) (*view, error) {
	has := func(name string) bool { return slices.Contains(chosen, name) }
	a := &assembler{tongue: opt.tongue(), t: t, anchors: newAnchors(sections[:]...), opt: opt}
	v := &view{
		Language: a.Tag(), Title: t.Study.Question, Note: a.prose(t.Study.Note), Subject: a.subject(),
		Level: a.tell(t.LevelText()), Percent: a.firm(tally.Percent(t.Level)), Empty: true,
		Headlines: a.headlines(), Instruments: a.instruments(),
		Findings: a.findings(), Cautions: a.cautions(), NotAssessed: a.notAssessed(), Colophon: a.colophon(),
	}
	if v.Title == "" {
		v.Title = a.say("A study without a question")
	}
	v.Answer = a.each(t.Answer())
	var err error
	if v.Words, err = a.words(t.Study.Words); err != nil {
		return nil, err
	}
	for _, b := range t.Boards {
		bv, err := a.board(b)
		if err != nil {
			return nil, err
		}
		v.Boards = append(v.Boards, bv)
		v.Empty = v.Empty && len(b.States) == 0
	}
	if v.Method, err = a.method(); err != nil {
		return nil, err
	}
	if v.Totals, err = a.totalsChart(); err != nil {
		return nil, err
	}
	if v.Differences, err = a.differences(); err != nil {
		return nil, err
	}
	if has("matrix") {
		if v.Matrices, err = a.matrices(); err != nil {
			return nil, err
		}
	}
	v.Claims = a.claims()
	if v.Effects, err = a.effects(); err != nil {
		return nil, err
	}
	if has("cooling") {
		if v.Cooling, err = a.coolings(); err != nil {
			return nil, err
		}
	}
	if has("budget") {
		if v.Budgets, err = a.budgets(); err != nil {
			return nil, err
		}
	}
	if v.Sittings, err = a.sittings(); err != nil {
		return nil, err
	}
	if v.Trials, err = a.trials(); err != nil {
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
		return a.say("No board is recorded.")
	}
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
		return a.say("Power of the chip on %s. Nothing has been measured yet.", boards)
	case a.Day(first) == a.Day(last):
		return a.say("Power of the chip on %s, measured on %s.", boards, first)
	default:
		return a.say("Power of the chip on %s, measured in %s from %s.", boards, sittingCount(n), a.Days(first, last))
	}
}

func (a *assembler) colophon() string {
	on := a.opt.On
	switch {
	case a.opt.Program != "" && !on.IsZero():
		return a.say("Computed and set by %s on %s.", a.opt.Program, on)
	case a.opt.Program != "":
		return a.say("Computed and set by %s.", a.opt.Program)
	case !on.IsZero():
		return a.say("Set on %s.", on)
	}
	return ""
}

// when writes the start of a sitting, with the time of day where it is known.
func (t tongue) when(s *study.Sitting) string {
	if s.Clock {
		return t.Day(s.On) + ", " + s.On.Format("15:04")
	}
	return t.Day(s.On)
}

func sittingCount(n int) phrase.Phrase { return phrase.Count(n, "one sitting", "%s sittings") }
