package chart

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"railtally/internal/cooling"
	"railtally/internal/phrase"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Choice is one chart that can be drawn of a study.
type Choice struct {
	Name  string // for files and commands: "lanes-otter"
	Title string
	// Further tells that the study has many like it, of which lists show only the
	// most telling: the lanes of each state.
	Further bool
	Draw    func(Options) (*Drawing, error)
}

// mapCells is how many powers and rooms a map has.
const mapCells = 60

// Gallery lists the charts of a study, the most telling first. c is its cooling,
// nil where none is to be shown. Titles are in the language; Draw takes it, the
// title and a footer with the study and its dates unless the options have their
// own.
func Gallery(t *tally.Tally, c *cooling.Cooling, l *phrase.Language) ([]Choice, error) {
	if l == nil {
		l = phrase.English()
	}
	g := &shelf{t: t, l: l, footer: Footer(t.Study, l), taken: map[string]bool{}}
	g.add("totals", l.Text("Power of the chip by state"), func(o Options) (*Drawing, error) { return Totals(t, o) })
	g.add("differences", l.Text("What differs"), func(o Options) (*Drawing, error) { return Differences(t, o) })
	if len(t.Study.Factors) > 0 {
		g.add("effects", l.Text("What each factor adds"), func(o Options) (*Drawing, error) { return Effects(t, o) })
	}
	for _, b := range t.Boards {
		g.board(b)
	}
	if c != nil {
		for _, b := range c.Boards {
			if err := g.cooling(c, b); err != nil {
				return nil, err
			}
		}
	}
	g.footer = strings.TrimSpace(strings.TrimPrefix(g.footer, t.Study.Question)) // the question is the card's title
	g.add("card", t.Study.Question, func(o Options) (*Drawing, error) { return Card(t, o) })
	return g.list, nil
}

// Footer names a study and when it was measured.
func Footer(s *study.Study, l *phrase.Language) string {
	var first, last time.Time
	for _, x := range s.Sittings {
		if first.IsZero() || x.On.Before(first) {
			first = x.On
		}
		if x.On.After(last) {
			last = x.On
		}
	}
	switch {
	case first.IsZero():
		return s.Question
	case l.Day(first) == l.Day(last):
		return strings.TrimSpace(s.Question + " " + l.Text("Measured on %s.", first))
	}
	return strings.TrimSpace(s.Question + " " + l.Text("Measured from %s.", l.Days(first, last)))
}

type shelf struct {
	t      *tally.Tally
	l      *phrase.Language
	footer string
	taken  map[string]bool
	list   []Choice
}

func (g *shelf) add(name, title string, draw func(Options) (*Drawing, error)) *Choice {
	base := name
	for n := 2; g.taken[name]; n++ {
		name = fmt.Sprintf("%s-%d", base, n)
	}
	g.taken[name] = true
	footer := g.footer
	g.list = append(g.list, Choice{Name: name, Title: title, Draw: func(o Options) (*Drawing, error) {
		if o.Language == nil {
			o.Language = g.l
		}
		if o.Title == "" {
			o.Title = title
		}
		if o.Footer == "" {
			o.Footer = footer
		}
		d, err := draw(o)
		if err != nil {
			return nil, fmt.Errorf("chart %s: %w", name, err)
		}
		return d, nil
	}})
	return &g.list[len(g.list)-1]
}

func (g *shelf) board(b *tally.Board) {
	l, t, of := g.l, g.t, "-"+Slug(b.Name)
	g.add("rails"+of, l.Text("What each rail draws on %s", b.Name), func(o Options) (*Drawing, error) { return Stack(t, b.Name, o) })
	full := tally.Fullest(b)
	if full != nil {
		g.add("lanes"+of, full.On().String(), func(o Options) (*Drawing, error) { return Lanes(t, full.On(), o) })
		g.add("shares"+of, l.Text("The part of each rail in %s", full.On()), func(o Options) (*Drawing, error) { return Shares(t, full.On(), o) })
	}
	if len(b.Steps) > 0 {
		g.add("steps"+of, l.Text("Step by step on %s", b.Name), func(o Options) (*Drawing, error) { return Waterfall(t, b.Name, o) })
	}
	if len(b.States) > 1 {
		g.add("matrix"+of, l.Text("Each state against each on %s", b.Name), func(o Options) (*Drawing, error) { return Matrix(t, b.Name, o) })
	}
	for _, s := range b.States {
		if s != full {
			g.add("lanes"+of+"-"+Slug(s.State.Name), s.On().String(), func(o Options) (*Drawing, error) { return Lanes(t, s.On(), o) }).Further = true
		}
	}
}

// cooling adds the way of the heat, the rise over power, the map of the point
// that decides, and how series of readings settle.
func (g *shelf) cooling(c *cooling.Cooling, b *cooling.Board) error {
	l, of := g.l, "-"+Slug(b.Name)
	h, err := c.Path(b)
	if err != nil {
		return err
	}
	if h != nil {
		g.add("heat"+of, l.Text("Way of the heat on %s", b.Name), func(o Options) (*Drawing, error) { return Ladder(h, c.Level, o) })
	}
	g.add("rise"+of, l.Text("Rise over the room on %s", b.Name), func(o Options) (*Drawing, error) { return Rise(c, b, o) })
	if p := c.Deciding(b); p != nil {
		g.add("map"+of, l.Text("Temperature of the %s on %s", p.Name, b.Name), func(o Options) (*Drawing, error) { return ThermalMap(c.MapOf(b, p, mapCells), o) })
	}
	for _, p := range b.Points {
		for i, r := range p.Readings {
			if len(r.Seconds) > 0 {
				g.add(fmt.Sprintf("settling-%s-%d%s", Slug(p.Name), i+1, of), l.Text("How %s settles in %s", p.Name, r.On), func(o Options) (*Drawing, error) { return Settle(r, c.Level, o) })
			}
		}
	}
	return nil
}

// Slug makes a name fit for a file's: lower case, letters, digits and hyphens.
func Slug(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.TrimSuffix(b.String(), "-"); s != "" {
		return s
	}
	return "board"
}
