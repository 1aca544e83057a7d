package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// tryKeys are the keys of --try.
var tryKeys = []string{"fins", "gap", "fin height", "fin thickness", "width", "length", "base thickness", "stands", "material", "finish",
	"emissivity", "air speed", "interface", "sink"}

// changeFrom understands what --try says of a board's sink.
func changeFrom(b *cooling.Board, tries []string) (cooling.Change, error) {
	var ch cooling.Change
	var s heat.Sink
	if b.Model != nil && b.Model.Ladder.Sink != nil {
		s = *b.Model.Ladder.Sink
	}
	gap, shaped := 0.0, false
	for _, t := range tries {
		key, text, ok := strings.Cut(t, "=")
		key, text = strings.TrimSpace(key), strings.TrimSpace(text)
		if !ok {
			return ch, usage{fmt.Errorf(`--try %s: a key and its value are accepted, as in "fin height=30 mm"`, t)}
		}
		var err error
		metres := map[string]*float64{"gap": &gap, "fin height": &s.Height, "fin thickness": &s.Thickness, "width": &s.Width,
			"length": &s.Length, "base thickness": &s.Base}
		switch to := metres[key]; {
		case to != nil:
			*to, err = quantity.Value(text, quantity.Metre, "")
		case key == "fins":
			s.Fins, err = strconv.Atoi(text)
			if err != nil {
				err = errors.New("a whole number is accepted")
			}
		case key == "emissivity":
			s.Emissivity, err = quantity.Value(text, quantity.None, "")
		case key == "stands":
			s.Stand = heat.Stand(text)
		case key == "material" || key == "finish":
			err = named(&s, key, text)
		case key == "air speed":
			ch.Speed, err = plainValue(text, quantity.MetrePerSecond)
		case key == "interface":
			ch.Interface, err = plainValue(text, quantity.KelvinPerWatt)
		case key == "sink":
			if ch.NoSink = text == "none"; !ch.NoSink {
				err = errors.New("none is accepted: the board alone")
			}
		default:
			return ch, usage{fmt.Errorf("--try %s: no key called %q (%s)", t, key, study.Accepting(key, tryKeys))}
		}
		if err != nil {
			return ch, usage{fmt.Errorf("--try %s: %w", t, err)}
		}
		shaped = shaped || key != "air speed" && key != "interface" && key != "sink"
	}
	if !shaped || b.Model == nil {
		return ch, nil
	}
	if b.Model.Ladder.Sink == nil {
		return ch, usage{errors.New("--try: the study describes no sink of this board that could be changed")}
	}
	if gap != 0 {
		if !(gap > 0 && gap < s.Width && s.Thickness > 0) {
			return ch, usage{fmt.Errorf("--try gap: %g mm between fins on %g mm cannot be computed", gap*1000, s.Width*1000)}
		}
		s.Fins = heat.FinsForGap(s.Width, s.Thickness, gap)
	}
	ch.Sink = &s
	return ch, nil
}

func plainValue(text string, unit quantity.Unit) (*float64, error) {
	x, err := quantity.Value(text, unit, "")
	if err == nil && x < 0 {
		err = fmt.Errorf("a %s of zero or more is accepted", unit)
	}
	return &x, err
}

// named sets what a material or a finish is.
func named(s *heat.Sink, key, text string) error {
	var known []string
	if key == "material" {
		for _, m := range heat.Materials() {
			if known = append(known, m.Name); m.Name == text {
				s.Conductivity = m.Conductivity
				return nil
			}
		}
	} else {
		for _, f := range heat.Finishes() {
			if known = append(known, f.Name); f.Name == text {
				s.Emissivity = f.Emissivity
				return nil
			}
		}
	}
	return errors.New(study.Accepting(text, known) + " is accepted")
}
