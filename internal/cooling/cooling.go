package cooling

import (
	"fmt"
	"math"
	"slices"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Cooling is everything that was found about the cooling of a study's boards.
type Cooling struct {
	Tally  *tally.Tally
	Level  float64
	Boards []*Board // those with temperatures or a section on cooling

	opt   Options
	bench *bench
}

// Options change what is asked. A nil field leaves what the study says.
type Options struct {
	Board    string // this board only; "": all
	Room     *quantity.Entry
	Power    *quantity.Entry
	Altitude *quantity.Entry
	Limits   []*study.TempLimit // replace the study's limits of the same name
	// LeaveOut keeps the temperatures of states out of the fit, to try a
	// prediction on them.
	LeaveOut []study.StateOn
}

// Board is the cooling of one board's chip.
type Board struct {
	*study.Board
	How    *study.Cooling // never nil
	Points []*Point       // in the order in which they were read; the junction last
	Ask    Ask

	// Model is the calibrated model; nil where nothing is described, and then
	// NoModel says why, if something was.
	Model   *Model
	NoModel error

	Findings []sensing.Finding

	tally *tally.Board
}

// Point is one temperature on a board.
type Point struct {
	Name     string
	Kind     study.PointKind
	Readings []*Reading
	Law      *Law // nil where no reading can be used
	Line     *Line
	Limit    *study.TempLimit // nil: none stated

	next gum.Value // scatter of a further reading; not Valid where there is none
}

// Run finds how the boards of a tallied study are cooled.
func Run(t *tally.Tally, opt Options) (*Cooling, error) {
	c := &Cooling{Tally: t, Level: t.Level, opt: opt, bench: &bench{g: t.Graph, study: t.Study, shared: map[string]gum.Value{}}}
	if opt.Board != "" && t.Study.Board(opt.Board) == nil {
		var names []string
		for _, b := range t.Study.Boards {
			names = append(names, b.Name)
		}
		return nil, fmt.Errorf("no board called %q: %s", opt.Board, quantity.Join(names))
	}
	for _, l := range opt.Limits {
		if x := l.Max.Value(); !(x >= study.ColdLimit && x <= study.HotLimit) {
			return nil, heat.Problems{{Field: "limit", Message: fmt.Sprintf("%s is no limit of the %s", quantity.Format(x, quantity.Celsius, 3), l.Name),
				Accept: fmt.Sprintf("%d to %d °C", study.ColdLimit, study.HotLimit)}}
		}
	}
	for _, tb := range t.Boards {
		if opt.Board != "" && tb.Name != opt.Board {
			continue
		}
		b, err := c.board(tb)
		if err != nil {
			return nil, fmt.Errorf("cooling of %s: %w", tb.Name, err)
		}
		if b != nil {
			c.Boards = append(c.Boards, b)
		}
	}
	return c, c.limitNames()
}

// limitNames refuses a limit of a temperature that no board has.
func (c *Cooling) limitNames() error {
	var names []string
	for _, b := range c.Boards {
		for _, p := range b.Points {
			if !slices.Contains(names, p.Name) {
				names = append(names, p.Name)
			}
		}
	}
	for _, l := range c.opt.Limits {
		if len(names) > 0 && !slices.Contains(names, l.Name) && l.Name != string(study.JunctionPoint) {
			return heat.Problems{{Field: "limit", Message: fmt.Sprintf("no temperature called %q was read", l.Name), Accept: quantity.Join(names)}}
		}
	}
	return nil
}

func (c *Cooling) board(tb *tally.Board) (*Board, error) {
	how := c.Tally.Study.CoolingOf(tb.Name)
	b := &Board{Board: tb.Board, How: how, tally: tb}
	if how == nil {
		b.How = &study.Cooling{Board: tb.Name}
	}
	if err := c.collect(b); err != nil {
		return nil, err
	}
	if len(b.Points) == 0 && how == nil && len(b.Findings) == 0 {
		return nil, nil
	}
	if err := c.ask(b); err != nil {
		return nil, err
	}
	for _, p := range b.Points {
		var err error
		if p.Law, err = c.fitLaw(b, p); err != nil {
			return nil, err
		}
		if p.Law == nil {
			continue
		}
		if p.Line, err = c.line(b, p.Law, gum.Value{}); err != nil {
			return nil, err
		}
		if f, odd := p.Law.exponentFinding(b, p); odd {
			b.note(f)
		}
	}
	if err := b.reach(); err != nil {
		return nil, err
	}
	if err := c.junction(b); err != nil {
		return nil, err
	}
	c.limits(b)
	c.question(b)
	if err := c.model(b); err != nil {
		return nil, err
	}
	return b, nil
}

// reaches is how many times the highest measured power a law is carried to.
const reaches = 20

// reach refuses a power that no law could be carried to.
func (b *Board) reach() error {
	if !b.Ask.Power.Valid() {
		return nil
	}
	most := 0.0
	for _, p := range b.Points {
		if p.Law != nil {
			most = math.Max(most, p.Law.PMax)
		}
	}
	if x := b.Ask.Power.Estimate(); most > 0 && x > reaches*most {
		return heat.Problems{{Field: "power", Message: fmt.Sprintf("%s is more than %d times the highest power that was measured, %s", quantity.Format(x, quantity.Watt, 3), reaches, quantity.Format(most, quantity.Watt, 3)),
			Accept: "up to " + quantity.Format(reaches*most, quantity.Watt, 3)}}
	}
	return nil
}

// junction adds the chip's junction as a point above the case, where the data
// sheet's resistance is known.
func (c *Cooling) junction(b *Board) error {
	top := b.Kind(study.CasePoint)
	if b.How.Junction == nil || top == nil || top.Line == nil || b.Kind(study.JunctionPoint) != nil {
		return nil
	}
	e := b.How.Junction
	psi := c.bench.once("junction "+b.Name, gum.Input{Name: b.Name + ": junction above case", Dist: sensing.Within(*e, e.Step),
		Tags: tagged("junction above case", sensing.TagBoard, b.Name)})
	line, err := c.line(b, top.Law, psi)
	if err != nil {
		return err
	}
	b.Points = append(b.Points, &Point{Name: string(study.JunctionPoint), Kind: study.JunctionPoint, Law: top.Law, Line: line, next: top.next})
	return nil
}

// limits gives each point its limit.
func (c *Cooling) limits(b *Board) {
	for _, l := range append(slices.Clone(b.How.Limits), c.opt.Limits...) {
		for _, p := range b.Points {
			if p.Name == l.Name || l.Name == string(study.JunctionPoint) && p.Kind == study.JunctionPoint {
				p.Limit = l
			}
		}
	}
	for _, l := range b.How.Limits {
		if !slices.ContainsFunc(b.Points, func(p *Point) bool { return p.Limit != nil && p.Limit.Name == l.Name }) {
			b.note(sensing.Finding{Code: "limit-unused", Severity: sensing.Doubtful, Board: b.Name,
				Text: phrase.New("The limit of %s is judged nowhere: no such temperature can be predicted.", l.Name),
				Do:   phrase.New("Read that temperature beside the power; for the junction give junction above case.")})
		}
	}
}

// Kind returns the first point of a kind, or nil.
func (b *Board) Kind(k study.PointKind) *Point {
	for _, p := range b.Points {
		if p.Kind == k {
			return p
		}
	}
	return nil
}

// Named returns the point of that name, or nil.
func (b *Board) Named(name string) *Point {
	for _, p := range b.Points {
		if p.Name == name {
			return p
		}
	}
	return nil
}

// point returns the point of that name, made where it was not there.
func (b *Board) point(name string) *Point {
	if p := b.Named(name); p != nil {
		return p
	}
	p := &Point{Name: name, Kind: b.How.PointKind(name)}
	b.Points = append(b.Points, p)
	return p
}

func (b *Board) note(f sensing.Finding) { b.Findings = append(b.Findings, f) }

func (b *Board) noteOnce(f sensing.Finding) {
	if !slices.ContainsFunc(b.Findings, func(o sensing.Finding) bool { return o.Code == f.Code && o.Text.String() == f.Text.String() }) {
		b.note(f)
	}
}

// question notes what a careful colleague would ask about the temperatures.
func (c *Cooling) question(b *Board) {
	single, early := 0, 0
	for _, p := range b.Points {
		for _, r := range p.Readings {
			switch {
			case r.Unsettled != nil:
				early++
				b.note(sensing.Finding{Code: "too-early", Severity: sensing.Wrong, Board: b.Name, Sitting: r.Sitting.Name, States: []string{r.On.State},
					Text: phrase.New("Where %s settles cannot be said (%s); it takes no part in the fit.", p.Name, r.Unsettled), Do: phrase.New("Read on, or leave that state on the bench for longer.")})
			case r.Settling == nil:
				single++
			}
		}
		if p.Law != nil && !p.Law.Assessed && p.Kind != study.JunctionPoint {
			b.note(sensing.Finding{Code: "scatter-not-assessed", Severity: sensing.Note, Board: b.Name,
				Text: phrase.New("%s was read in too few states to see how its readings scatter; ±%g K stands in.", p.Name, placing),
				Do:   phrase.New("Read it in %d states or more, of different power.", scattered)})
		}
	}
	if single > 0 {
		b.note(sensing.Finding{Code: "settling-not-shown", Severity: sensing.Note, Board: b.Name,
			Text: phrase.New("%d temperatures are single readings: that they had settled is taken on trust. A reading taken too early makes the cooling look better than it is.", single),
			Do:   phrase.New("Write %d readings or more with their times, each a step of its own: {state: busy, at: 15:31, temperatures: {case: 48.2 °C}}.", leastSeries)})
	}
	if math.IsNaN(b.Ask.Room.Estimate()) {
		b.note(sensing.Finding{Code: "no-room", Severity: sensing.Doubtful, Board: b.Name, Text: phrase.New("No room is known to predict for."), Do: phrase.New("Give room under cooling, or with --room.")})
	}
}
