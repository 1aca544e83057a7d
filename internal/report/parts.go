package report

import (
	"io/fs"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Links say where a figure opens to in pages that show a study piece by piece.
type Links struct {
	State      func(on study.StateOn) string
	Rail       func(on study.StateOn, rail string) string
	Difference func(d *tally.Difference) string
}

// Parts gives the pieces of the page one at a time, each worked out when it is
// asked for. What its methods return is for the templates of Templates.
type Parts struct {
	a    *assembler
	urls map[string]string // address of a figure by its anchor
}

// NewParts prepares the pieces of a tally's page.
func NewParts(t *tally.Tally, l Links) *Parts {
	p := &Parts{a: &assembler{tongue: english(), t: t, anchors: newAnchors(sections[:]...)}, urls: map[string]string{}}
	for _, b := range t.Boards {
		for _, s := range b.States {
			p.urls["#"+p.a.stateID(s)] = l.State(s.On())
			for _, r := range s.Rails {
				p.urls["#"+p.a.railID(s, r)] = l.Rail(s.On(), r.Name)
			}
		}
	}
	for _, d := range t.Differences {
		p.urls["#"+p.a.differenceID(d)] = l.Difference(d)
	}
	return p
}

// CSS is the style of the pieces. It takes colours and typeface from package
// look.
func CSS() string {
	css, err := fs.ReadFile(files, "style/page.css")
	if err != nil {
		panic("report: the style sheet is not embedded") // cannot happen in a program that was built
	}
	return string(css)
}

// Templates returns the template files of the pieces, without that of the page
// itself. They call the functions of Funcs.
func Templates() (fs.FS, []string, error) {
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, nil, err
	}
	return files, slices.DeleteFunc(names, func(n string) bool { return n == "templates/page.html" }), nil
}

// AnswerPart is for the template "answer".
type AnswerPart struct {
	Words     []any // the author's own, which the pages of results leave to the report
	Answer    []string
	Headlines []headline
	Level     string
}

// Answer gives the answer with its headline figures.
func (p *Parts) Answer() AnswerPart {
	v := AnswerPart{Headlines: p.a.headlines(), Level: p.a.tell(p.a.t.LevelText())}
	v.Answer = p.a.each(p.a.t.Answer())
	for i := range v.Headlines {
		v.Headlines[i].Href = p.to(v.Headlines[i].Href)
	}
	return v
}

// to is the address of what an anchor names.
func (p *Parts) to(anchor string) string {
	if u, ok := p.urls[anchor]; ok {
		return u
	}
	return anchor
}

// Totals is for the template "picture": the totals of all states.
func (p *Parts) Totals() (any, error) { return p.a.totalsChart() }

// Lanes is for the template "picture": the rails of one state.
func (p *Parts) Lanes(s *tally.State) (any, error) { return p.a.lanesChart(s) }

// Stack is for the template "picture": the rails of every state of a board.
func (p *Parts) Stack(b *tally.Board) (any, error) { return p.a.stackChart(b) }

// Table is for the template "power-table": each rail's power in each state.
func (p *Parts) Table(b *tally.Board) any {
	t := p.a.powerTable(b)
	for i := range t.Rows {
		row := &t.Rows[i]
		row.Href, row.Total.Href = p.to(row.Href), p.to(row.Total.Href)
		for _, c := range row.Rails {
			c.Href = p.to(c.Href)
		}
	}
	return t
}

// Differences is for the template "differences".
func (p *Parts) Differences() (any, error) {
	v, err := p.a.differences()
	if err != nil {
		return nil, err
	}
	for i := range v.Rows {
		v.Rows[i].Budget = p.to("#" + p.a.differenceID(p.a.t.Differences[i]))
	}
	return v, nil
}

// State is a total opened to its rails: what the template "open-state" shows.
func (p *Parts) State(s *tally.State) (any, error) { return p.a.open(s) }

// StateBudget is what limits a complete state's total.
func (p *Parts) StateBudget(s *tally.State) (any, error) {
	b, err := p.a.t.StateBudget(s)
	if err != nil {
		return nil, err
	}
	var rails []gum.Share
	for _, r := range b.Rails {
		rails = append(rails, gum.Share{Name: r.Rail, Fraction: r.Fraction, U: s.Total.U * math.Sqrt(math.Abs(r.Fraction))})
	}
	return p.a.budget(b, rails, s.Total), nil
}

// Difference is what limits a difference.
func (p *Parts) Difference(d *tally.Difference) (any, error) {
	b, err := p.a.t.Budget(d.Difference)
	if err != nil {
		return nil, err
	}
	rails, err := p.a.differenceByRail(d)
	if err != nil {
		return nil, err
	}
	return p.a.budget(b, rails, d.Difference), nil
}

// DifferenceID names a difference in an address, the same for as long as its
// boards and states keep their names.
func (p *Parts) DifferenceID(d *tally.Difference) string { return p.a.differenceID(d) }

// Sittings is for the template "sittings".
func (p *Parts) Sittings() (any, error) {
	v, err := p.a.sittings()
	if err != nil || v == nil {
		return v, err
	}
	for i := range v.Repeats {
		v.Repeats[i].Href = p.to(v.Repeats[i].Href)
	}
	return v, nil
}

// Trials is for the template "trials"; nil where none was made or scheduled.
func (p *Parts) Trials() (any, error) {
	v, err := p.a.trials()
	if v == nil {
		return nil, err
	}
	return v, err
}

// Findings is for the template "findings".
func (p *Parts) Findings() any { return p.a.findings() }

// Rail is one rail opened to its readings: what the template "open-rail" shows.
func (p *Parts) Rail(s *tally.State, r *tally.Rail) (any, error) {
	o, err := p.a.openRail(s, r)
	if err != nil {
		return nil, err
	}
	watts := p.a.newColumn(quantity.Watt, r.Power)
	o.Power = p.a.power(watts, r)
	o.Stated = p.a.stated(r.Power, quantity.Watt)
	if o.Power.Words != "" {
		o.Stated = p.a.spaced(o.Power.Words + " " + watts.Symbol())
	}
	return o, nil
}

// Instruments are those that a rail of a state was read with, each as in the
// template "instrument".
func (p *Parts) Instruments(s *tally.State, r *tally.Rail) []any {
	var used []*study.Instrument
	add := func(name string) {
		if in := p.a.t.Study.Instrument(name); in != nil && !slices.Contains(used, in) {
			used = append(used, in)
		}
	}
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r.Rail {
				continue
			}
			for _, v := range rt.Visits {
				for _, c := range v.Taps {
					add(c.Tap.Instrument)
					add(c.Meter)
				}
				add(v.Voltage.Meter)
			}
		}
	}
	return Instruments(used)
}

// Instruments sets instruments in words, each as in the template "instrument".
func Instruments(list []*study.Instrument) []any {
	a := &assembler{tongue: english(), t: &tally.Tally{Study: &study.Study{Instruments: list}}, anchors: newAnchors()}
	var out []any
	for _, v := range a.instruments() {
		out = append(out, v)
	}
	return out
}
