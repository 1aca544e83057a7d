package studyfile

import (
	"strconv"

	"railtally/internal/study"
)

// claimsOut writes the claims; nil when there are none.
func claimsOut(s *study.Study) *out {
	all := &out{kind: list, block: true}
	for _, c := range s.Claims {
		all.add(claimOut(s, c))
	}
	return all.orNil()
}

func claimOut(s *study.Study, c *study.Claim) *out {
	o := newBlock()
	o.say("says", c.Says)
	var about *out
	switch c.Kind {
	case study.ClaimDifference, study.ClaimRatio:
		about = comparisonOut(s, study.Comparison{First: c.First, Second: c.Against})
	case study.ClaimEffect, study.ClaimShare:
		about = newMap()
		about.say("board", c.Effect.Board)
		about.say("factor", c.Effect.Factor)
		about.say("level", c.Effect.Level)
		about.say("from", c.Effect.From)
		with := newMap()
		for _, l := range c.Effect.With {
			with.put(l.Factor, text(l.Value))
		}
		about.put("with", with.orNil())
	case study.ClaimPredicted:
		about = newMap()
		about.say("board", c.Predicted.Board)
		about.put("power", optional(c.Predicted.Power))
		about.put("room", optional(c.Predicted.Room))
		about.put("altitude", optional(c.Predicted.Altitude))
	default:
		about = stateOnOut(s, c.First)
	}
	o.put(string(c.Kind), about)
	o.say("point", c.Point)
	o.put("above", optional(c.Above))
	o.put("below", optional(c.Below))
	o.put("within", optional(c.Within))
	o.put("rule", ruleOut(c.Rule))
	o.say("note", c.Note)
	return o
}

// stateOnOut writes the text form, or the map form where the text could be
// understood in another way.
func stateOnOut(s *study.Study, x study.StateOn) *out {
	if found := statesOn(s, x.String()); len(found) == 1 && found[0] == x {
		return text(x.String())
	}
	return stateOnMap(x)
}

func ruleOut(r *study.Rule) *out {
	switch {
	case r == nil:
		return nil
	case r.Kind == study.RuleGuard:
		return text("guard band " + strconv.FormatFloat(r.Guard, 'f', -1, 64) + " U")
	case r.Kind == study.RuleRisk:
		return text("risk " + percentText(r.Risk))
	}
	return text(string(r.Kind))
}

func carriedOut(c *study.CarriedEffect) *out {
	if c == nil {
		return nil
	}
	o := newMap()
	o.put("sd", entryOut(&c.SD))
	o.say("degrees of freedom", strconv.FormatFloat(c.DOF, 'f', -1, 64))
	o.say("from", c.From)
	return o
}
