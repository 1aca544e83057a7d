package studyfile

import (
	"strconv"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// examples of a limit, by kind of claim.
func limitLike(k study.ClaimKind) (value, band string) {
	switch k {
	case study.ClaimRatio:
		return "0.9", "0.8..0.9"
	case study.ClaimShare:
		return "50 %", "40..60 %"
	case study.ClaimThroughput:
		return "250 MB/s", "250..300 MB/s"
	case study.ClaimTemperature, study.ClaimPredicted:
		return "70 °C", "60..70 °C"
	}
	return "5.5 W", "5..6 W"
}

// readClaim reads one claim. What it is about decides the unit of its limit.
func (p place) readClaim() *study.Claim {
	c := &study.Claim{}
	f, ok := p.fields(claimSection)
	if !ok {
		return c
	}
	c.Says, c.Note, c.Point = f.note("says"), f.note("note"), f.note("point")
	about := 0
	for _, k := range study.ClaimKinds {
		q, ok := f.get(string(k))
		if !ok {
			continue
		}
		about++
		c.Kind = k
		switch k {
		case study.ClaimDifference, study.ClaimRatio:
			x := q.readComparison()
			c.First, c.Against = x.First, x.Second
		case study.ClaimEffect, study.ClaimShare:
			c.Effect = q.readEffect(k)
		case study.ClaimPredicted:
			c.Predicted = q.readPredicted()
		default:
			c.First = q.readStateOn()
		}
	}
	if about > 1 {
		p.fail("one of total, difference, ratio, effect, share, throughput, temperature and predicted", "the claim is about %d things at once", about)
		return c
	}
	if about == 0 {
		return c // Check says so
	}
	value, band := limitLike(c.Kind)
	c.Above = f.optional("above", c.Kind.Unit(), value)
	c.Below = f.optional("below", c.Kind.Unit(), value)
	c.Within = f.optional("within", c.Kind.Unit(), band)
	if q, ok := f.get("rule"); ok {
		c.Rule = q.readRule()
	}
	return c
}

// readPredicted reads {board: …, power: …, room: …, altitude: …}.
func (p place) readPredicted() (x study.PredictedAt) {
	f, ok := p.fields(predictedSection)
	if !ok {
		return x
	}
	if q, ok := f.need("board", "the name of a board"); ok {
		x.Board, _ = q.text("the name of a board")
	}
	x.Power = f.optional("power", quantity.Watt, "7 W")
	x.Room = f.optional("room", quantity.Celsius, "45 °C")
	x.Altitude = f.optional("altitude", quantity.Metre, "1500 m")
	return x
}

// readEffect reads {board: …, factor: …, level: …, from: …, with: {…}}.
func (p place) readEffect(k study.ClaimKind) (e study.EffectOf) {
	f, ok := p.fields(effectSection)
	if !ok {
		return e
	}
	for _, x := range []struct {
		key, what string
		to        *string
		need      bool
	}{
		{"board", "the name of a board", &e.Board, true},
		{"factor", "the name of a factor", &e.Factor, k == study.ClaimEffect},
		{"level", "one of its levels", &e.Level, k == study.ClaimEffect || f.written("factor")},
		{"from", "one of its levels", &e.From, false},
	} {
		q, ok := f.get(x.key)
		if !ok && x.need {
			q, ok = f.need(x.key, x.what)
		}
		if ok {
			*x.to, _ = q.text(x.what)
		}
	}
	if q, ok := f.get("with"); ok {
		for _, l := range q.named("the levels of other factors, as in {load: copy}") {
			if value, ok := l.text("one of its levels"); ok {
				e.With = append(e.With, study.Level{Factor: l.key(), Value: value})
			}
		}
	}
	return e
}

const ruleForms = "none, guard band 1 U, or risk 5 %"

// readRule reads "none", "guard band 1 U" or "risk 5 %".
func (p place) readRule() *study.Rule {
	text, ok := p.text(ruleForms)
	if !ok {
		return nil
	}
	words := strings.Join(strings.Fields(text), " ")
	if words == string(study.RuleNone) {
		return &study.Rule{Kind: study.RuleNone}
	}
	if rest, ok := cutWord(words, string(study.RuleGuard)); ok {
		number := strings.TrimSpace(strings.TrimSuffix(rest, "U"))
		if x, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64); err == nil && strings.HasSuffix(rest, "U") {
			return &study.Rule{Kind: study.RuleGuard, Guard: x}
		}
		p.fail("guard band 1 U, in expanded uncertainties", "%q is no guard band", text)
		return nil
	}
	if rest, ok := cutWord(words, string(study.RuleRisk)); ok {
		x, err := quantity.Value(rest, quantity.None, "")
		if err != nil {
			p.failed(err, "risk 5 %")
			return nil
		}
		return &study.Rule{Kind: study.RuleRisk, Risk: x}
	}
	p.fail(ruleForms, "no decision rule called %q", text)
	return nil
}

// readCarried reads {sd: 15 mW, degrees of freedom: 4, from: …}.
func (p place) readCarried() *study.CarriedEffect {
	f, ok := p.fields(carriedSection)
	if !ok {
		return nil
	}
	c := &study.CarriedEffect{From: f.note("from")}
	sd, ok1 := f.need("sd", "15 mW")
	dof, ok2 := f.need("degrees of freedom", "4")
	if ok1 {
		c.SD, ok1 = sd.entry(quantity.Watt, "15 mW")
	}
	if ok2 {
		var text string
		if text, ok2 = dof.text("4"); ok2 {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				dof.fail("4", "%q is no number", text)
				return nil
			}
			c.DOF = x
		}
	}
	if !ok1 || !ok2 {
		return nil
	}
	return c
}
