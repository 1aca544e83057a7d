package studygen

import (
	"railtally/internal/quantity"
	"railtally/internal/study"

	"pgregory.net/rapid"
)

// claims draws claims of every kind that the study's names allow.
func (g *gen) claims(s *study.Study) {
	if g.yes("decision rule") {
		s.Rule = g.rule()
	}
	if g.yes("sitting effect") {
		s.SittingEffect = &study.CarriedEffect{
			SD: *g.entry("15 mW", "0,02 W"), DOF: pick(g, "dof", 1, 4, 2.5), From: g.maybeProse("from"),
		}
	}
	kinds := []study.ClaimKind{study.ClaimShare, study.ClaimPredicted}
	if len(s.States) > 0 {
		kinds = append(kinds, study.ClaimTotal, study.ClaimThroughput, study.ClaimTemperature)
	}
	if len(s.States)*len(s.Boards) > 1 {
		kinds = append(kinds, study.ClaimDifference, study.ClaimRatio)
	}
	var varied []*study.Factor
	for _, f := range s.Factors {
		if len(f.Levels) > 1 {
			varied = append(varied, f)
		}
	}
	if len(varied) > 0 {
		kinds = append(kinds, study.ClaimEffect)
	}
	if len(varied) > 1 && g.yes("interaction") {
		s.Interactions = []*study.Interaction{{Of: []study.OfFactor{{Factor: varied[0].Name}, {Factor: varied[1].Name}}}}
	}
	for range g.count("claims", 0, 3) {
		s.Claims = append(s.Claims, g.claim(s, pick(g, "kind of claim", kinds...), varied))
	}
}

func (g *gen) claim(s *study.Study, kind study.ClaimKind, varied []*study.Factor) *study.Claim {
	c := &study.Claim{Kind: kind, Says: g.maybeProse("says"), Note: g.maybeProse("note")}
	on := func() study.StateOn {
		return study.StateOn{Board: pick(g, "board", s.Boards...).Name, State: pick(g, "state", s.States...).Name}
	}
	switch kind {
	case study.ClaimDifference, study.ClaimRatio:
		c.First = on()
		for c.Against = on(); c.Against == c.First; {
			c.Against = on()
		}
	case study.ClaimEffect, study.ClaimShare:
		c.Effect.Board = pick(g, "board", s.Boards...).Name
		if len(varied) > 0 && (kind == study.ClaimEffect || g.yes("of a factor")) {
			f := pick(g, "factor", varied...)
			k := g.count("level", 1, len(f.Levels)-1)
			c.Effect.Factor, c.Effect.Level = f.Name, f.Levels[k]
			if g.yes("from") {
				c.Effect.From = f.Levels[k-1]
			}
			for _, other := range s.Factors {
				if other != f && g.yes("with") {
					c.Effect.With = append(c.Effect.With, study.Level{Factor: other.Name, Value: other.Levels[len(other.Levels)-1]})
				}
			}
		}
	case study.ClaimPredicted:
		c.Predicted.Board = pick(g, "board", s.Boards...).Name
		if g.yes("power") {
			c.Predicted.Power = g.entryOf("7 ± 0.2 W", quantity.Watt)
		}
		if g.yes("room") {
			c.Predicted.Room = g.entryOf("45 °C", quantity.Celsius)
		}
		if g.yes("altitude") {
			c.Predicted.Altitude = g.entryOf("1500 m", quantity.Metre)
		}
	default:
		c.First = on()
	}
	single, band := map[study.ClaimKind]string{}, map[study.ClaimKind]string{}
	for _, k := range study.ClaimKinds {
		single[k], band[k] = "5.5 W", "-0.2..0.3 W"
	}
	single[study.ClaimRatio], band[study.ClaimRatio] = "0.9", "0.85 ± 0.05"
	single[study.ClaimShare], band[study.ClaimShare] = "50 %", "40..60 %"
	single[study.ClaimThroughput], band[study.ClaimThroughput] = "250 MB/s", "2..3 Gbit/s"
	single[study.ClaimTemperature], band[study.ClaimTemperature] = "70 °C", "60 ± 5 °C"
	single[study.ClaimPredicted], band[study.ClaimPredicted] = single[study.ClaimTemperature], band[study.ClaimTemperature]
	unit := kind.Unit()
	switch pick(g, "limit", "above", "below", "within") {
	case "above":
		c.Above = g.entryOf(single[kind], unit)
	case "below":
		c.Below = g.entryOf(single[kind], unit)
	default:
		c.Within = g.entryOf(band[kind], unit)
	}
	if kind == study.ClaimTemperature || kind == study.ClaimPredicted {
		c.Point = g.name("point", "")
	}
	if g.yes("rule") {
		c.Rule = g.rule()
	}
	return c
}

func (g *gen) rule() *study.Rule {
	switch pick(g, "rule", study.RuleNone, study.RuleGuard, study.RuleRisk) {
	case study.RuleGuard:
		return &study.Rule{Kind: study.RuleGuard, Guard: rapid.Float64Range(0.01, 3).Draw(g.T, "guard")}
	case study.RuleRisk:
		return &study.Rule{Kind: study.RuleRisk, Risk: pick(g, "risk", 0.05, 0.01, 0.025, 0.1)}
	}
	return &study.Rule{Kind: study.RuleNone}
}
