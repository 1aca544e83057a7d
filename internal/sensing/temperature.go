package sensing

import (
	"fmt"
	"math"

	"railtally/gum"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Temperature is a temperature that was read, in °C. known is false where
// nothing tells how good the thermometer is: its uncertainty is then only that
// of the reading itself.
//
// The model is a meter's: the reading, its resolution, and the place inside the
// thermometer's accuracy line, which every temperature it reads shares.
func (b *Bench) Temperature(sit *study.Sitting, state string, n *study.Named) (v gum.Value, known bool, err error) {
	name := n.Reading.Meter
	if name == "" {
		name = sit.Thermometer
	}
	what := fmt.Sprintf("%s %s, %s", sit.Board, state, n.Name)
	t := func(cause, instrument string) []gum.Tag {
		return tags(TagInstrument, instrument, TagCause, cause, TagBoard, sit.Board, TagSitting, sit.Name)
	}
	in := b.study.Instrument(name)
	if in == nil {
		return b.Input(what+", as read", Within(n.Reading.Entry, n.Reading.Step), t(CauseResolution, "")), false, nil
	}
	var r *study.Range
	if n.Reading.Range != "" {
		r = in.Range(n.Reading.Range)
	} else {
		r = SmallestRange(in, quantity.Celsius, math.Abs(largest(n.Reading.Entry)))
	}
	if r == nil || r.Measures != quantity.Celsius {
		return gum.Value{}, false, fmt.Errorf("%s, %s: %s shows no temperature", sit.Name, what, in.Name)
	}
	room := math.NaN()
	if sit.Room != nil {
		room = sit.Room.Value()
	}
	errs := b.errorsOf(in, r, room)
	return errs.apply(b.display(n.Reading.Entry, meterOn{in, r}, what, t), side(n.Reading.Entry)), errs.known, nil
}
