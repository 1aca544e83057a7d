package web

import (
	"fmt"
	"math"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// effects shows what each factor adds on every board, from all states together.
func (o *resultsOf) effects() (*openedPage, error) {
	v := &openedPage{Title: "What each factor adds"}
	first := section{ID: "effects", Title: "What each factor adds"}
	told := false
	for _, b := range o.Tally.Boards {
		told = told || b.Effects != nil && b.Effects.Problem.IsZero()
	}
	switch {
	case len(o.Tally.Study.Factors) == 0:
		first.Lead = []string{"The study names no factors, so there is nothing that could add something. Name them in the plan, and say their levels in each state."}
	case told:
		p, err := o.picture(effectsPicture(o.Tally))
		if err != nil {
			return nil, err
		}
		first.Pictures = append(first.Pictures, p)
	}
	v.Sections = append(v.Sections, first)
	for i, b := range o.Tally.Boards {
		if b.Effects == nil {
			continue
		}
		x, err := o.effectsOf(b, i)
		if err != nil {
			return nil, err
		}
		v.Sections = append(v.Sections, x)
	}
	return v, nil
}

// all are the base and the terms, in one list.
func allEffects(e *tally.Effects) []tally.Effect {
	return append([]tally.Effect{e.Base}, e.Terms...)
}

// effectName names an effect for people, and effectKey in an address.
func effectName(e *tally.Effects, x tally.Effect) string {
	if x.Short().IsZero() {
		return e.BaseName().String()
	}
	return x.Name().String()
}

const baseKey = "base"

func effectKey(x tally.Effect) string {
	if s := x.Short().String(); s != "" {
		return s // two words or more, so never the base's
	}
	return baseKey
}

func (o *resultsOf) effectsOf(b *tally.Board, i int) (section, error) {
	e := b.Effects
	s := section{ID: fmt.Sprintf("effects-%d", i+1), Title: b.Name}
	if !e.Problem.IsZero() {
		s.Lead = []string{report.Tell(e.Problem)}
		return s, nil
	}
	var powers []tally.Figure
	for _, x := range allEffects(e) {
		powers = append(powers, x.Power)
	}
	unit, cells := o.parts.Column(quantity.Watt, powers...)
	t := resultsTable{ID: s.ID + "-caption", Caption: "From all states of " + b.Name + " together; each opens to the totals it was estimated from",
		Heads: []head{{"Effect", false}, {"Power, " + unit, true}, {"Carried by", false}}}
	for k, x := range allEffects(e) {
		t.Rows = append(t.Rows, []resultsCell{words(effectName(e, x), ""), number(cells[k], o.to("effects", b.Name, effectKey(x))), words(string(x.Carriers()), "")})
	}
	s.Tables = append(s.Tables, t)
	if rails := o.railEffects(b, s.ID); len(rails.Rows) > 0 {
		s.Tables = append(s.Tables, rails)
	}
	for _, text := range append(slices.Clone(e.Untold), e.ShareText(), e.Consistency()) {
		if !text.IsZero() {
			s.After = append(s.After, report.Tell(text))
		}
	}
	if t := o.misfits(e, s.ID); e.LacksFit() {
		s.Tables = append(s.Tables, t)
	}
	return s, nil
}

// railEffects is which rail carries how much of each effect.
func (o *resultsOf) railEffects(b *tally.Board, id string) resultsTable {
	e := b.Effects
	t := resultsTable{ID: id + "-rails", Caption: "Which rail of " + b.Name + " carries it"}
	var figures []tally.Figure
	var rails []string
	for _, r := range b.Rails {
		if slices.ContainsFunc(e.Base.Rails, func(x tally.RailEffect) bool { return x.Rail == r.Name }) {
			rails = append(rails, r.Name)
		}
	}
	if len(rails) < 2 {
		return t
	}
	for _, x := range allEffects(e) {
		for _, name := range rails {
			i := slices.IndexFunc(x.Rails, func(y tally.RailEffect) bool { return y.Rail == name })
			figures = append(figures, x.Rails[i].Power)
		}
	}
	unit, cells := o.parts.Column(quantity.Watt, figures...)
	t.Heads = append(t.Heads, head{"Effect", false})
	for _, name := range rails {
		t.Heads = append(t.Heads, head{name + ", " + unit, true})
	}
	for _, x := range allEffects(e) {
		row := []resultsCell{words(effectName(e, x), o.to("effects", b.Name, effectKey(x)))}
		for range rails {
			row = append(row, number(cells[0], ""))
			cells = cells[1:]
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// mostMisfits is how many of the totals farthest off are listed.
const mostMisfits = 5

func (o *resultsOf) misfits(e *tally.Effects, id string) resultsTable {
	t := resultsTable{ID: id + "-misfits", Caption: "Totals of " + e.Board.Name + " farthest from the sum", Heads: []head{{"State", false}, {"Sitting", false}, {"Off by", true}, {"In its own standard deviations", true}}}
	for _, m := range e.Misfits[:min(len(e.Misfits), mostMisfits)] {
		t.Rows = append(t.Rows, []resultsCell{
			words(m.On.State, o.to("results", m.On.Board, m.On.State)), words(m.Sitting.Name, ""),
			plain(report.Amount(m.Residual, quantity.Watt, 2)), plain(report.Signed(m.Score, 2)),
		})
	}
	return t
}

// effect opens one effect down to the weight of each total.
func (o *resultsOf) effect() (*openedPage, error) {
	b, _, err := o.board()
	if err != nil {
		return nil, err
	}
	key := nameIn(o.r, "effect")
	if b.Effects == nil || !b.Effects.Problem.IsZero() {
		return nil, notFound("no effects could be estimated on " + b.Name)
	}
	for _, x := range allEffects(b.Effects) {
		if effectKey(x) == key {
			return o.opensTo(b, x)
		}
	}
	return nil, notFound("no effect of " + key + " was estimated on " + b.Name)
}

func (o *resultsOf) opensTo(b *tally.Board, x tally.Effect) (*openedPage, error) {
	e := b.Effects
	v := &openedPage{Up: o.to("effects"), UpName: "What each factor adds", Title: b.Name + ", " + effectName(e, x), Figure: watts(x.Power),
		Lead: []string{fmt.Sprintf("Estimated by generalised least squares from %d totals of %s and their full covariance matrix, with %d effects.", e.Observations, b.Name, e.Parameters)}}
	rails := section{Title: "Its rails"}
	var powers []tally.Figure
	for _, r := range x.Rails {
		powers = append(powers, r.Power)
	}
	unit, cells := o.parts.Column(quantity.Watt, powers...)
	t := resultsTable{ID: "effect-rails", Caption: "The same weights applied to the power of each rail", Heads: []head{{"Rail", false}, {"Power, " + unit, true}}}
	for i, r := range x.Rails {
		t.Rows = append(t.Rows, []resultsCell{words(r.Rail, ""), number(cells[i], "")})
	}
	if len(x.Rails) > 0 {
		rails.Tables = []resultsTable{t}
		v.Sections = append(v.Sections, rails)
	}
	weights, err := o.weights(e, x)
	if err != nil {
		return nil, err
	}
	v.Sections = append(v.Sections, weights)
	limits := section{Title: "What limits it"}
	if limits.Budget, err = o.parts.Limits(x.Power, quantity.Watt); err != nil {
		return nil, err
	}
	v.Sections = append(v.Sections, limits)
	return v, nil
}

// mostWeights is how many totals are listed with their weights; the largest
// weights first, where there are more.
const mostWeights = 60

func (o *resultsOf) weights(e *tally.Effects, x tally.Effect) (section, error) {
	s := section{Title: "Its totals", Lead: []string{"The effect is the sum of these totals, each times its weight. A weight says how far the effect moves when that total does."}}
	order := make([]int, len(e.Totals))
	for i := range order {
		order[i] = i
	}
	t := resultsTable{ID: "effect-weights", Caption: "Every total that it was estimated from"}
	if len(order) > mostWeights {
		slices.SortStableFunc(order, func(i, j int) int {
			switch a, b := math.Abs(x.Weights[i]), math.Abs(x.Weights[j]); {
			case a > b:
				return -1
			case a < b:
				return 1
			}
			return 0
		})
		order = order[:mostWeights]
		t.Caption = "The totals that weigh most"
		t.Note = fmt.Sprintf("%d more totals weigh less. All weights stand in the JSON form of the tally.", len(e.Totals)-mostWeights)
	}
	var totals []tally.Figure
	for _, i := range order {
		f, err := o.Tally.Figure(e.Totals[i].Value)
		if err != nil {
			return s, err
		}
		totals = append(totals, f)
	}
	unit, cells := o.parts.Column(quantity.Watt, totals...)
	t.Heads = []head{{"State", false}, {"Sitting", false}, {"Total, " + unit, true}, {"Weight", true}, {"Weight times total", true}}
	for k, i := range order {
		y := e.Totals[i]
		href := o.to("results", y.On.Board, y.On.State)
		t.Rows = append(t.Rows, []resultsCell{
			words(y.On.State, href), words(y.Sitting.Name, ""), number(cells[k], href),
			plain(weightText(x.Weights[i])), plain(report.Amount(x.Weights[i]*totals[k].Estimate, quantity.Watt, 3)),
		})
	}
	s.Tables = []resultsTable{t}
	return s, nil
}

// weightText prints a weight; what is nothing but rounding is nothing.
func weightText(w float64) string {
	if math.Abs(w) < 5e-7 {
		return "0"
	}
	return report.Signed(w, 3)
}

// steps shows the way from a board's barest state to its fullest.
func (o *resultsOf) steps() (*openedPage, error) {
	b, i, err := o.board()
	if err != nil {
		return nil, err
	}
	v := &openedPage{Title: b.Name + ", step by step"}
	s := section{ID: fmt.Sprintf("steps-%d", i+1), Title: "Step by step on " + b.Name}
	if len(b.Steps) == 0 {
		s.Lead = []string{"No two complete states of this board differ in a single factor, so there is no way from one to the next."}
		v.Sections = []section{s}
		return v, nil
	}
	p, err := o.picture(stepsPicture(o.Tally, i))
	if err != nil {
		return nil, err
	}
	s.Pictures = []savedPicture{p}
	figures := []tally.Figure{b.Steps[0].Second.Total}
	steps := []tally.Figure{{}}
	for _, x := range b.Steps {
		figures, steps = append(figures, x.First.Total), append(steps, x.Difference.Difference)
	}
	unit, totals := o.parts.Column(quantity.Watt, figures...)
	stepUnit, added := o.parts.Column(quantity.Watt, steps...)
	t := resultsTable{ID: s.ID + "-caption", Caption: "Each step on " + b.Name + " changes one factor", Heads: []head{{"State", false}, {"Changed", false}, {"Step, " + stepUnit, true}, {"Verdict", false}, {"Power, " + unit, true}}}
	base := b.Steps[0].Second
	t.Rows = append(t.Rows, []resultsCell{words(base.State.Name, ""), {}, {}, {}, number(totals[0], o.stateHref(base))})
	for k, x := range b.Steps {
		t.Rows = append(t.Rows, []resultsCell{
			words(x.First.State.Name, ""), words(fmt.Sprintf("%s %s to %s", x.Factor, x.From, x.To), ""),
			number(added[k+1], o.differenceHref(x.Difference)), {Verdict: o.parts.Verdict(x.Difference)}, number(totals[k+1], o.stateHref(x.First)),
		})
	}
	s.Tables = []resultsTable{t}
	v.Sections = []section{s}
	return v, nil
}
