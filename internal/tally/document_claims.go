package tally

import (
	"math"

	"railtally/internal/phrase"
	"railtally/internal/study"
)

// ClaimsFormat names the JSON form of claims alone, and its version.
const ClaimsFormat = "railtally claims 1"

// ClaimsDocument is the stable JSON form of a study's claims. docs/tally-json.md
// describes it.
type ClaimsDocument struct {
	Format string     `json:"format"`
	Study  string     `json:"study"`
	Level  float64    `json:"level"`
	Claims []DocClaim `json:"claims"`
}

// DocClaim is one claim. Figure and Probability are absent when the figure
// could not be computed; Low and High where the claim is open.
type DocClaim struct {
	Number      int        `json:"number"`
	Kind        string     `json:"kind"`
	Statement   string     `json:"statement"`
	Judgement   Judgement  `json:"judgement"`
	Unit        string     `json:"unit"`
	Figure      *DocFigure `json:"figure,omitempty"`
	Low         *float64   `json:"low,omitempty"`
	High        *float64   `json:"high,omitempty"`
	Probability *float64   `json:"probability,omitempty"`
	Rule        string     `json:"rule"`
	Guard       float64    `json:"guard_u,omitempty"`
	Risk        float64    `json:"risk,omitempty"`
	Why         string     `json:"why,omitempty"`
	Rests       []string   `json:"rests_on,omitempty"`
	Cautions    []string   `json:"cautions,omitempty"`
	Advice      []string   `json:"advice,omitempty"`
	Sentence    string     `json:"sentence"`
}

// ClaimsDocument builds the JSON form of the claims.
func (t *Tally) ClaimsDocument() *ClaimsDocument {
	return &ClaimsDocument{Format: ClaimsFormat, Study: t.Study.Question, Level: t.Level, Claims: docClaims(t.Claims)}
}

func docClaims(cs []*ClaimResult) []DocClaim {
	out := []DocClaim{}
	for _, c := range cs {
		d := DocClaim{
			Number: c.Number, Kind: string(c.Kind), Statement: c.Statement().String(), Judgement: c.Judgement, Unit: c.Kind.Unit().Symbol(),
			Rule: string(c.Rule.Kind), Why: c.Why.String(), Rests: phrase.Strings(c.Rests), Cautions: phrase.Strings(c.Cautions),
			Advice: phrase.Strings(c.Advice), Sentence: c.Sentence().String(),
		}
		switch c.Rule.Kind {
		case study.RuleGuard:
			d.Guard = c.Rule.Guard
		case study.RuleRisk:
			d.Risk = c.Rule.Risk
		}
		if !math.IsInf(c.Lo, 0) {
			d.Low = &c.Lo
		}
		if !math.IsInf(c.Hi, 0) {
			d.High = &c.Hi
		}
		if c.Known {
			f := docFigure(c.Figure)
			d.Figure, d.Probability = &f, &c.Probability
		}
		out = append(out, d)
	}
	return out
}

// DocUpstream compares inputs with the rails behind them.
type DocUpstream struct {
	Board      string     `json:"board"`
	State      string     `json:"state"`
	Sitting    string     `json:"sitting"`
	Inputs     []string   `json:"inputs"`
	Rails      []string   `json:"rails"`
	Missing    []string   `json:"missing,omitempty"`
	In         *DocFigure `json:"in_w,omitempty"`
	Out        *DocFigure `json:"out_w,omitempty"`
	Efficiency *DocFigure `json:"efficiency,omitempty"`
	Remainder  *DocFigure `json:"remainder_w,omitempty"`
	Fault      string     `json:"fault,omitempty"`
	Sentence   string     `json:"sentence"`
}

// DocChange compares the change of inputs with that of the rails.
type DocChange struct {
	Board   string     `json:"board"`
	From    string     `json:"from"`
	To      string     `json:"to"`
	Sitting string     `json:"sitting"`
	Inputs  []string   `json:"inputs"`
	In      DocFigure  `json:"in_w"`
	Out     DocFigure  `json:"out_w"`
	Ratio   *DocFigure `json:"ratio,omitempty"`
}

func docUpstream(us []*Upstream) []DocUpstream {
	var out []DocUpstream
	for _, u := range us {
		d := DocUpstream{Board: u.On.Board, State: u.On.State, Sitting: u.Sitting.Name, Inputs: u.Inputs, Rails: u.Rails,
			Missing: u.Missing, Fault: u.Fault().String(), Sentence: u.Sentence().String()}
		d.In, d.Out = docMaybe(u.In), docMaybe(u.Out)
		d.Efficiency, d.Remainder = docMaybe(u.Efficiency), docMaybe(u.Remainder)
		out = append(out, d)
	}
	return out
}

func docChanges(cs []*UpstreamChange) []DocChange {
	var out []DocChange
	for _, c := range cs {
		out = append(out, DocChange{Board: c.To.On.Board, From: c.From.On.State, To: c.To.On.State, Sitting: c.To.Sitting.Name,
			Inputs: c.To.Inputs, In: docFigure(c.In), Out: docFigure(c.Out), Ratio: docMaybe(c.Ratio)})
	}
	return out
}

// docMaybe is a figure that may be missing.
func docMaybe(f Figure) *DocFigure {
	if !f.Value.Valid() {
		return nil
	}
	d := docFigure(f)
	return &d
}
