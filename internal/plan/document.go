package plan

import (
	"math"

	"railtally/internal/quantity"
)

// DocumentFormat names the JSON form and its version.
const DocumentFormat = "railtally plan 1"

// Document is the stable JSON form of a plan. Figures are SI and unrounded; what
// is not known is absent. docs/plan.md describes it.
type Document struct {
	Format    string      `json:"format"`
	Study     string      `json:"study"`
	Level     float64     `json:"level"`
	Seed      uint64      `json:"seed"`
	Meter     string      `json:"meter"`
	Reached   bool        `json:"reached"`
	Questions []string    `json:"questions"`
	Targets   []DocTarget `json:"targets"`
	Boards    []DocBoard  `json:"boards"`
	Work      []DocTask   `json:"work"`
	Proofs    []DocProof  `json:"proofs,omitempty"`
}

// DocTarget is one aim with its prediction and advice.
type DocTarget struct {
	Name      string      `json:"name"`
	Kind      string      `json:"kind"`
	From      string      `json:"from"`
	Expected  *float64    `json:"expected_w,omitempty"`
	Width     *float64    `json:"predicted_expanded_w,omitempty"`
	Aim       *float64    `json:"aim_w,omitempty"`
	Reached   bool        `json:"reached"`
	Reachable bool        `json:"reachable"`
	Missing   []string    `json:"missing,omitempty"`
	Causes    []DocShare  `json:"causes,omitempty"`
	Rails     []DocShare  `json:"rails,omitempty"`
	Alone     []DocAdvice `json:"advice_alone,omitempty"`
	Together  []DocAdvice `json:"advice_together,omitempty"`
	Beyond    []DocClass  `json:"beyond_the_shelf,omitempty"`
}

// DocShare is a part of a variance.
type DocShare struct {
	Name     string  `json:"name"`
	Fraction float64 `json:"fraction"`
}

// DocAdvice is one change with what it does.
type DocAdvice struct {
	Kind    string  `json:"kind"`
	Text    string  `json:"text"`
	Assumes string  `json:"assumes,omitempty"`
	Cost    string  `json:"cost,omitempty"`
	Minutes float64 `json:"minutes"`
	Before  float64 `json:"before_w"`
	After   float64 `json:"after_w"`
}

// DocClass is a class of instruments that is not on the shelf.
type DocClass struct {
	Name    string  `json:"name"`
	After   float64 `json:"after_w"`
	Reaches bool    `json:"reaches"`
}

// DocBoard is one board.
type DocBoard struct {
	Name    string    `json:"name"`
	Order   []string  `json:"order"`
	Minutes float64   `json:"sitting_minutes"`
	Rails   []DocRail `json:"rails"`
}

// DocRail is one rail.
type DocRail struct {
	Name     string       `json:"name"`
	Highest  *float64     `json:"highest_a,omitempty"`
	Openings []DocOpening `json:"openings,omitempty"`
	Sensors  []DocSensor  `json:"sensors,omitempty"`
	Bounded  *DocBounded  `json:"if_not_opened,omitempty"`
}

// DocOpening is what one opening does.
type DocOpening struct {
	Phase    string      `json:"phase,omitempty"`
	Grade    Grade       `json:"grade"`
	Current  float64     `json:"current_a"`
	Added    *float64    `json:"added_ohm,omitempty"`
	Drop     *float64    `json:"drop_v,omitempty"`
	Band     float64     `json:"band_v"`
	Rise     *float64    `json:"rise_k,omitempty"`
	Fuses    *float64    `json:"fuses_a,omitempty"`
	Henries  *float64    `json:"added_henry,omitempty"`
	Smallest *int        `json:"smallest_awg,omitempty"`
	Longest  *float64    `json:"longest_loop_m,omitempty"`
	Remarks  []DocRemark `json:"remarks"`
}

// DocRemark is one remark on an opening.
type DocRemark struct {
	Code  string `json:"code"`
	Grade Grade  `json:"grade"`
	Text  string `json:"text"`
	Do    string `json:"do,omitempty"`
}

// DocSensor is one way to read a rail.
type DocSensor struct {
	Name    string   `json:"name"`
	Planned bool     `json:"planned,omitempty"`
	Shown   float64  `json:"shown"`
	Range   string   `json:"meter_range,omitempty"`
	Burden  float64  `json:"burden_v,omitempty"`
	Least   float64  `json:"step_a,omitempty"`
	Width   *float64 `json:"rail_expanded_w,omitempty"`
	Why     string   `json:"cannot,omitempty"`
}

// DocBounded is what leaving a rail closed would cost.
type DocBounded struct {
	Amps   float64 `json:"up_to_a"`
	Before float64 `json:"total_expanded_before_w"`
	After  float64 `json:"total_expanded_after_w"`
}

// DocTask is one step of the work.
type DocTask struct {
	Phase    string    `json:"phase"`
	Board    string    `json:"board"`
	Text     string    `json:"text"`
	At       *float64  `json:"at_min,omitempty"`
	Minutes  float64   `json:"minutes"`
	State    string    `json:"state,omitempty"`
	Rails    []string  `json:"rails,omitempty"`
	Zeros    []string  `json:"zeros,omitempty"`
	Fields   []string  `json:"fields,omitempty"`
	Proof    string    `json:"proof,omitempty"`
	Cautions []Caution `json:"cautions,omitempty"`
}

// DocProof is one trial that was made.
type DocProof struct {
	Code       string  `json:"code"`
	Board      string  `json:"board"`
	Rail       string  `json:"rail"`
	State      string  `json:"state"`
	What       string  `json:"what"`
	Difference float64 `json:"difference"`
	Expanded   float64 `json:"expanded"`
	Unit       string  `json:"unit"`
	Holds      bool    `json:"holds"`
	Text       string  `json:"text"`
}

// known is x, or nil where it is no number or, with positive, not above zero.
func known(x float64, positive bool) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) || positive && x <= 0 {
		return nil
	}
	return &x
}

// Document builds the JSON form. proofs may be nil.
func (p *Plan) Document(proofs []Proof) *Document {
	d := &Document{Format: DocumentFormat, Study: p.Study.Question, Level: p.Study.Level, Seed: p.Seed, Meter: p.Meter, Reached: p.Reached(),
		Questions: []string{}, Targets: []DocTarget{}, Boards: []DocBoard{}, Work: []DocTask{}}
	for _, q := range p.Questions {
		d.Questions = append(d.Questions, q.String())
	}
	for _, c := range p.Counsels {
		d.Targets = append(d.Targets, docTarget(c))
	}
	for _, b := range p.Boards {
		x := DocBoard{Name: b.Name, Order: b.Order, Minutes: b.Takes.Minutes(), Rails: []DocRail{}}
		for _, r := range b.Rails {
			x.Rails = append(x.Rails, docRail(r))
		}
		d.Boards = append(d.Boards, x)
	}
	for _, t := range p.Work {
		x := DocTask{Phase: t.Phase, Board: t.Board, Text: t.Text, Minutes: t.Takes.Minutes(), State: t.State, Rails: t.Rails, Zeros: t.Zeros,
			Fields: t.Fields, Proof: t.Proof, Cautions: t.Cautions}
		if t.At > 0 {
			at := t.At.Minutes()
			x.At = &at
		}
		d.Work = append(d.Work, x)
	}
	for _, q := range proofs {
		unit := "A"
		if q.Unit == quantity.Watt {
			unit = "W"
		}
		d.Proofs = append(d.Proofs, DocProof{q.Code, q.Board, q.Rail, q.State, q.What.String(), q.Difference.Estimate, q.Difference.Expanded, unit, q.Holds, q.Text.String()})
	}
	return d
}

func docTarget(c Counsel) DocTarget {
	t := DocTarget{Name: c.Target.Name(), Kind: string(c.Target.Kind), From: c.Target.From, Aim: known(c.Limit, true),
		Reached: c.Reached(), Reachable: c.Reachable, Missing: c.Missing}
	if c.Possible() {
		t.Expected, t.Width = known(c.Figure.Estimate, false), known(c.Figure.Expanded, false)
	}
	for _, s := range c.Causes {
		t.Causes = append(t.Causes, DocShare{s.Name, s.Fraction})
	}
	for _, s := range c.Rails {
		t.Rails = append(t.Rails, DocShare{s.Board + " " + s.Rail, s.Fraction})
	}
	advice := func(list []Advice) (out []DocAdvice) {
		for _, a := range list {
			out = append(out, DocAdvice{string(a.Kind), a.Text, a.Assume, a.Cost, a.Effort.Minutes(), a.Before, a.After})
		}
		return out
	}
	t.Alone, t.Together = advice(c.Alone), advice(c.Together)
	for _, k := range c.Beyond {
		t.Beyond = append(t.Beyond, DocClass(k))
	}
	return t
}

func docRail(r *Rail) DocRail {
	x := DocRail{Name: r.Name}
	if r.Known {
		x.Highest = known(r.Highest, false)
	}
	for _, o := range r.Openings {
		y := DocOpening{Phase: o.Phase, Grade: o.Worst(), Current: o.Current, Added: known(o.Added, false), Band: o.Band,
			Rise: known(o.Rise, false), Fuses: known(o.Fuses, true), Henries: known(o.Henries, true), Longest: known(o.Longest, true), Remarks: []DocRemark{}}
		if y.Added != nil {
			y.Drop = known(o.Drop, false)
		}
		if o.SmallOK {
			y.Smallest = &o.Smallest
		}
		for _, k := range o.Remarks {
			y.Remarks = append(y.Remarks, DocRemark(k))
		}
		x.Openings = append(x.Openings, y)
	}
	for _, s := range r.Sensors {
		x.Sensors = append(x.Sensors, DocSensor{Name: s.Name, Planned: s.Planned, Shown: s.Shown, Range: s.Range, Burden: s.Burden,
			Least: s.Least, Width: known(s.Width, true), Why: s.Why})
	}
	if b := r.Bounding; b != nil {
		x.Bounded = &DocBounded{b.Amps, b.Before, b.After}
	}
	return x
}
