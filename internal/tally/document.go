package tally

import (
	"math"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
)

// DocumentFormat names the JSON form and its version. A new version is due
// when a field changes its meaning or goes; fields may be added without one.
const DocumentFormat = "railtally tally 1"

// Document is the stable JSON form of a tally. All figures are SI and
// unrounded. docs/tally-json.md describes it.
type Document struct {
	Format      string            `json:"format"`
	Study       string            `json:"study"`
	Level       float64           `json:"level"`
	EqualWithin *float64          `json:"equal_within_w,omitempty"`
	Answer      []string          `json:"answer"`
	Boards      []DocBoard        `json:"boards"`
	Differences []DocDifference   `json:"differences"`
	Effects     []DocEffects      `json:"effects,omitempty"`
	Claims      []DocClaim        `json:"claims,omitempty"`
	Upstream    []DocUpstream     `json:"upstream,omitempty"`
	Changes     []DocChange       `json:"upstream_changes,omitempty"`
	Sittings    DocSittings       `json:"sittings"`
	Findings    []sensing.Finding `json:"findings"`
	Simulation  *DocSimulation    `json:"simulation,omitempty"`
}

// DocFigure is one result. DOF is absent when infinite.
type DocFigure struct {
	Value    float64  `json:"value"`
	U        float64  `json:"u"`
	DOF      *float64 `json:"dof,omitempty"`
	K        float64  `json:"k"`
	Expanded float64  `json:"expanded"`
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
}

// DocBoard is one board with its states.
type DocBoard struct {
	Name   string     `json:"name"`
	Chip   string     `json:"chip,omitempty"`
	States []DocState `json:"states"`
}

// DocState is one state; Total is absent when a rail is missing.
type DocState struct {
	Name     string            `json:"name"`
	Levels   map[string]string `json:"levels,omitempty"`
	Sittings []string          `json:"sittings"`
	Total    *DocFigure        `json:"total_w,omitempty"`
	Missing  []string          `json:"missing,omitempty"`
	Rails    []DocRail         `json:"rails"`
	Budget   *DocBudget        `json:"budget,omitempty"`
}

// DocRail is one rail in one state. Current is what enters the chip, Drawn
// what the taps carry.
type DocRail struct {
	Name         string    `json:"name"`
	Voltage      DocFigure `json:"voltage_v"`
	VoltageStood bool      `json:"nominal_voltage,omitempty"`
	Drawn        DocFigure `json:"drawn_a"`
	Current      DocFigure `json:"current_a"`
	Power        DocFigure `json:"power_w"`
	Bounded      bool      `json:"bounded,omitempty"`
	Aside        bool      `json:"aside,omitempty"`
}

// DocBudget lists shares of a variance.
type DocBudget struct {
	Causes      []DocShare `json:"causes"`
	Instruments []DocShare `json:"instruments"`
	Rails       []DocShare `json:"rails,omitempty"`
	Inputs      []DocShare `json:"inputs"`
}

// DocShare is one line of a budget.
type DocShare struct {
	Name     string  `json:"name"`
	Fraction float64 `json:"fraction"`
	U        float64 `json:"u,omitempty"`
}

// DocDifference is First − Second.
type DocDifference struct {
	First      string     `json:"first"`
	Second     string     `json:"second"`
	Difference DocFigure  `json:"difference_w"`
	Ratio      *DocFigure `json:"ratio,omitempty"`
	Within     []string   `json:"within,omitempty"`
	Verdict    Verdict    `json:"verdict"`
	P          float64    `json:"p"`
	FamilyP    float64    `json:"p_holm"`
	EqualP     *float64   `json:"p_equal,omitempty"`
	Detectable float64    `json:"detectable_w"`
	Advice     []string   `json:"advice,omitempty"`
	Sentence   string     `json:"sentence"`
	Budget     *DocBudget `json:"budget,omitempty"`
}

// DocSittings says what is known about the effect of a sitting. CarriedFrom is
// there when some of it is taken over from earlier studies.
type DocSittings struct {
	Assessed bool         `json:"assessed"`
	Carried  string       `json:"carried_from,omitempty"`
	SD       float64      `json:"sd_w"`
	DOF      float64      `json:"dof"`
	Repeated []DocRepeats `json:"repeated,omitempty"`
}

// DocRepeats compares one state in two sittings.
type DocRepeats struct {
	Board      string    `json:"board"`
	State      string    `json:"state"`
	First      string    `json:"first"`
	Second     string    `json:"second"`
	Difference DocFigure `json:"difference_w"`
	En         float64   `json:"en"`
}

// DocSimulation is the Monte Carlo check.
type DocSimulation struct {
	Trials   int            `json:"trials"`
	Seed     uint64         `json:"seed"`
	Digits   int            `json:"digits"`
	Agrees   bool           `json:"agrees"`
	Warnings []string       `json:"warnings,omitempty"`
	Figures  []DocSimulated `json:"figures"`
}

// DocSimulated is one figure of the check.
type DocSimulated struct {
	Name      string     `json:"name"`
	Mean      float64    `json:"mean"`
	U         *float64   `json:"u,omitempty"` // absent when it does not exist
	Symmetric [2]float64 `json:"symmetric"`
	Shortest  [2]float64 `json:"shortest"`
	Agrees    bool       `json:"agrees"`
}

// budgetInputs is how many single inputs a document's budget lists.
const budgetInputs = 12

// Document builds the JSON form; sim may be nil.
func (t *Tally) Document(sim *Simulation) (*Document, error) {
	d := &Document{
		Format: DocumentFormat, Study: t.Study.Question, Level: t.Level, Answer: phrase.Strings(t.Answer()),
		Boards: []DocBoard{}, Differences: []DocDifference{}, Findings: t.Findings,
		Sittings: DocSittings{Assessed: t.Sittings.Assessed, SD: t.Sittings.SD, DOF: t.Sittings.DOF},
	}
	if d.Findings == nil {
		d.Findings = []sensing.Finding{}
	}
	if e := t.Study.EqualWithin; e != nil {
		v := e.Value()
		d.EqualWithin = &v
	}
	for _, b := range t.Boards {
		db := DocBoard{Name: b.Name, Chip: b.Chip, States: []DocState{}}
		for _, s := range b.States {
			ds, err := t.docState(s)
			if err != nil {
				return nil, err
			}
			db.States = append(db.States, ds)
		}
		d.Boards = append(d.Boards, db)
	}
	if c := t.Sittings.Carried; c != nil {
		d.Sittings.Carried = c.Source()
	}
	d.Claims, d.Upstream, d.Changes = docClaims(t.Claims), docUpstream(t.Upstream), docChanges(t.Changes)
	for _, x := range t.Differences {
		b, err := t.Budget(x.Difference)
		if err != nil {
			return nil, err
		}
		dd := DocDifference{
			First: x.First.On().String(), Second: x.Second.On().String(), Difference: docFigure(x.Difference),
			Within: x.Within, Verdict: x.Verdict, Sentence: x.Sentence().String(), Budget: docBudget(b),
			P: x.P, FamilyP: x.FamilyP, Detectable: x.Detectable, Advice: phrase.Strings(x.Advice),
		}
		if x.Margin > 0 {
			dd.EqualP = &x.EqualP
		}
		if x.Ratio.Value.Valid() {
			r := docFigure(x.Ratio)
			dd.Ratio = &r
		}
		d.Differences = append(d.Differences, dd)
	}
	for _, b := range t.Boards {
		if b.Effects != nil {
			d.Effects = append(d.Effects, docEffects(b.Effects))
		}
	}
	for _, r := range t.Sittings.Repeated {
		d.Sittings.Repeated = append(d.Sittings.Repeated, DocRepeats{
			Board: r.On.Board, State: r.On.State, First: r.First.Name, Second: r.Second.Name,
			Difference: docFigure(r.Difference), En: r.En,
		})
	}
	d.Simulation = docSimulation(sim)
	return d, nil
}

func (t *Tally) docState(s *State) (DocState, error) {
	ds := DocState{Name: s.State.Name, Missing: s.Missing, Sittings: []string{}, Rails: []DocRail{}}
	for _, l := range s.State.Levels {
		if ds.Levels == nil {
			ds.Levels = map[string]string{}
		}
		ds.Levels[l.Factor] = l.Value
	}
	for _, tk := range s.Taken {
		ds.Sittings = append(ds.Sittings, tk.Sitting.Name)
	}
	for _, r := range s.Rails {
		ds.Rails = append(ds.Rails, DocRail{
			Name: r.Name, Voltage: docFigure(r.Voltage), VoltageStood: r.Stands, Drawn: docFigure(r.Drawn),
			Current: docFigure(r.Current), Power: docFigure(r.Power), Bounded: r.Bound != nil, Aside: r.Aside,
		})
	}
	if !s.Complete {
		return ds, nil
	}
	total := docFigure(s.Total)
	ds.Total = &total
	b, err := t.StateBudget(s)
	ds.Budget = docBudget(b)
	return ds, err
}

func docFigure(f Figure) DocFigure {
	d := DocFigure{Value: f.Estimate, U: f.U, K: f.K, Expanded: f.Expanded, Low: f.Lo(), High: f.Hi()}
	if !math.IsInf(f.DOF, 0) && !math.IsNaN(f.DOF) {
		d.DOF = &f.DOF
	}
	return d
}

func docBudget(b Budget) *DocBudget {
	d := &DocBudget{Causes: docShares(b.Causes), Instruments: docShares(b.Instruments)}
	for _, r := range b.Rails {
		d.Rails = append(d.Rails, DocShare{Name: r.Rail, Fraction: r.Fraction})
	}
	d.Inputs = docShares(b.Inputs[:min(len(b.Inputs), budgetInputs)])
	return d
}

func docShares(in []gum.Share) []DocShare {
	out := make([]DocShare, len(in))
	for i, s := range in {
		out[i] = DocShare{Name: s.Name, Fraction: s.Fraction, U: s.U}
	}
	return out
}

func docSimulation(sim *Simulation) *DocSimulation {
	if sim == nil {
		return nil
	}
	d := &DocSimulation{Trials: sim.Trials, Seed: sim.Seed, Digits: sim.Digits, Agrees: sim.Agrees(), Warnings: sim.Warnings}
	for _, f := range sim.Figures {
		m := f.Simulated
		x := DocSimulated{
			Name: f.Name, Mean: m.Mean, Symmetric: [2]float64{m.Symmetric.Lo, m.Symmetric.Hi},
			Shortest: [2]float64{m.Shortest.Lo, m.Shortest.Hi}, Agrees: f.Validation.Valid,
		}
		if !math.IsInf(m.U, 0) && !math.IsNaN(m.U) {
			x.U = &m.U
		}
		d.Figures = append(d.Figures, x)
	}
	return d
}
