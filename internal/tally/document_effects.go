package tally

import (
	"math"

	"railtally/internal/phrase"
)

// DocEffects is what each factor adds on one board.
type DocEffects struct {
	Board        string      `json:"board"`
	Problem      string      `json:"problem,omitempty"`
	Base         *DocEffect  `json:"base,omitempty"`
	Terms        []DocEffect `json:"terms,omitempty"`
	Share        *DocFigure  `json:"base_share,omitempty"`
	Untold       []string    `json:"not_estimated,omitempty"`
	Fullest      string      `json:"fullest,omitempty"`
	Totals       []DocTotal  `json:"totals,omitempty"`
	Observations int         `json:"observations"`
	Parameters   int         `json:"parameters"`
	Chi2         *float64    `json:"chi2,omitempty"`
	P            *float64    `json:"p,omitempty"`
	Birge        *float64    `json:"birge,omitempty"`
	Misfits      []DocMisfit `json:"misfits,omitempty"`
}

// DocEffect is one level of a factor against the factor's first level, or, with
// Together, what levels of several factors add beyond what each adds alone. At
// are the levels of other factors at which it holds.
type DocEffect struct {
	Factor   string          `json:"factor,omitempty"`
	Level    string          `json:"level,omitempty"`
	From     string          `json:"from,omitempty"`
	Together []DocLevel      `json:"together,omitempty"`
	At       []DocLevel      `json:"at,omitempty"`
	Power    DocFigure       `json:"power_w"`
	Weights  []float64       `json:"weights"`
	Rails    []DocRailEffect `json:"rails,omitempty"`
}

// DocLevel is a factor at a level; From is the level it is counted from.
type DocLevel struct {
	Factor string `json:"factor"`
	Level  string `json:"level"`
	From   string `json:"from,omitempty"`
}

// DocTotal is one total that effects were estimated from.
type DocTotal struct {
	State   string `json:"state"`
	Sitting string `json:"sitting"`
}

// DocRailEffect is the part of an effect that one rail carries.
type DocRailEffect struct {
	Rail  string    `json:"rail"`
	Power DocFigure `json:"power_w"`
}

// DocMisfit is how far one total lies from the sum of effects.
type DocMisfit struct {
	State    string  `json:"state"`
	Sitting  string  `json:"sitting"`
	Residual float64 `json:"residual_w"`
	Score    float64 `json:"score"`
}

func docEffects(e *Effects) DocEffects {
	d := DocEffects{Board: e.Board.Name, Problem: e.Problem.String(), Untold: phrase.Strings(e.Untold), Observations: e.Observations, Parameters: e.Parameters}
	if !e.Problem.IsZero() {
		return d
	}
	for _, x := range e.Totals {
		d.Totals = append(d.Totals, DocTotal{x.On.State, x.Sitting.Name})
	}
	base := docEffect(e.Base)
	d.Base = &base
	for _, x := range e.Terms {
		d.Terms = append(d.Terms, docEffect(x))
	}
	if e.Share.Value.Valid() {
		share := docFigure(e.Share)
		d.Share, d.Fullest = &share, e.Fullest.State.Name
	}
	if !math.IsNaN(e.P) {
		d.Chi2, d.P, d.Birge = &e.Chi2, &e.P, &e.Birge
	}
	for _, m := range e.Misfits {
		d.Misfits = append(d.Misfits, DocMisfit{m.On.State, m.Sitting.Name, m.Residual, m.Score})
	}
	return d
}

func docEffect(e Effect) DocEffect {
	d := DocEffect{Factor: e.Factor, Level: e.Level, From: e.From, Power: docFigure(e.Power), Weights: e.Weights}
	for _, c := range e.Together {
		d.Together = append(d.Together, DocLevel(c))
	}
	for _, l := range e.At {
		d.At = append(d.At, DocLevel{Factor: l.Factor, Level: l.Value})
	}
	for _, r := range e.Rails {
		d.Rails = append(d.Rails, DocRailEffect{r.Rail, docFigure(r.Power)})
	}
	return d
}
