package cooling

import (
	"errors"
	"fmt"

	"railtally/gum"
	"railtally/internal/cooling/heat"
	"railtally/internal/sensing"
)

// throughLeast and throughMost are the part of the air that approaches an open
// sink which goes between its fins and not round them (common practice, no
// source).
const throughLeast, throughMost = 0.3, 0.8

// frontSpeed is the speed in m/s at which a fan's air, of a flow in m³/s, meets
// the front of a finned sink, all of it: the fan's frame is taken to be no larger
// than the front.
func frontSpeed(s *heat.Sink, flow float64) (float64, error) {
	if s == nil || s.Kind != heat.PlateFins {
		return 0, errors.New("a fan's flow needs a sink with fins: give the air speed")
	}
	return flow / (s.Width * s.Height), nil
}

// changedSpeed is the speed of the air after a change, in the graph: as it was,
// as stated, or what a fan's flow makes of it.
func (c *Cooling) changedSpeed(b *Board, ch Change, s *heat.Sink, was gum.Value) (v gum.Value, doubt string, err error) {
	g := c.Tally.Graph
	switch {
	case ch.Speed != nil && ch.Flow != nil:
		return v, "", heat.Problems{{Field: "fan flow", Message: "an air speed and a fan's flow are stated", Accept: "one of the two"}}
	case ch.Speed != nil:
		return g.Const(*ch.Speed), "", nil
	case ch.Flow == nil:
		return was, "", nil
	}
	u, err := frontSpeed(s, *ch.Flow)
	if err != nil {
		return v, "", err
	}
	if most := u * throughMost; most > 10 {
		return v, "", heat.Problems{{Field: "fan flow", Message: fmt.Sprintf("%.3g m³/h blow at %.2g m/s against the sink's front of %.0f by %.0f mm", *ch.Flow*3600, u, 1000*s.Width, 1000*s.Height),
			Accept: fmt.Sprintf("up to %.3g m³/h", 10/throughMost*s.Width*s.Height*3600)}}
	}
	doubt = fmt.Sprintf("The fan's air is taken to meet the sink's front at %.2g m/s, and %.1f to %.1f of that to go between the fins (common practice, no source). A fan gives its printed flow only where nothing is in its way.", u, throughLeast, throughMost)
	return g.Input(gum.Input{Name: b.Name + ": air of the fan tried", Dist: gum.Rectangular{Lo: throughLeast * u, Hi: throughMost * u},
		Tags: tagged(CauseAsked, sensing.TagBoard, b.Name)}), doubt, nil
}
