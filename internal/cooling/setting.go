package cooling

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Setting is one part of a change as a person writes it: a key of [SettingKeys]
// and its value, such as "fin height" and "30 mm". Lengths without a unit are in
// millimetres, speeds in metres for each second.
type Setting struct{ Key, Text string }

// SettingKeys are the keys in the order in which they are offered.
var SettingKeys = []string{"fins", "gap", "fin height", "fin thickness", "width", "length", "base thickness", "stands", "material", "finish",
	"emissivity", "air speed", "fan flow", "interface", "sink"}

// SettingError tells what is wrong with one setting.
type SettingError struct {
	Setting
	Problem error
}

func (e *SettingError) Error() string {
	return fmt.Sprintf("%s=%s: %v", e.Key, e.Text, e.Problem)
}

func (e *SettingError) Unwrap() error { return e.Problem }

// ChangeOf understands settings as a change of a board's cooling. Every error in
// the list, which is empty when all is understood, is of one setting. Whether the
// sink that comes of it can be computed is for [Cooling.Try] to tell.
func (b *Board) ChangeOf(list []Setting) (Change, []*SettingError) {
	r := settingReader{}
	if b.Model != nil && b.Model.Ladder.Sink != nil {
		r.sink = *b.Model.Ladder.Sink
		r.described = true
	}
	for _, s := range list {
		r.now = s
		if err := r.read(b); err != nil {
			r.bad = append(r.bad, &SettingError{s, err})
		}
	}
	if r.gap != 0 && len(r.bad) == 0 {
		s := &r.sink
		if !(r.gap > 0 && r.gap < s.Width && s.Thickness > 0 && r.gap+s.Thickness > 1e-5) {
			r.bad = append(r.bad, &SettingError{r.gapAs, fmt.Errorf("%.3g mm between fins on %.3g mm cannot be computed; more than 0.5 mm is accepted", r.gap*1000, s.Width*1000)})
		} else {
			s.Fins = heat.FinsForGap(s.Width, s.Thickness, r.gap)
		}
	}
	if r.shaped {
		r.change.Sink = &r.sink
	}
	return r.change, r.bad
}

// settingReader takes settings one after the other.
type settingReader struct {
	sink      heat.Sink
	described bool // there is a sink to change
	shaped    bool
	gap       float64
	gapAs     Setting
	change    Change
	now       Setting
	bad       []*SettingError
}

func (r *settingReader) read(b *Board) error {
	key, text := r.now.Key, strings.TrimSpace(r.now.Text)
	switch key {
	case "air speed":
		v, err := notNegative(text, quantity.MetrePerSecond, "m/s")
		r.change.Speed = v
		return err
	case "fan flow":
		v, err := flow(text)
		r.change.Flow = v
		return err
	case "interface":
		v, err := notNegative(text, quantity.KelvinPerWatt, "K/W")
		r.change.Interface = v
		return err
	case "sink":
		if text != "none" {
			return errors.New("none is accepted: the board alone")
		}
		r.change.NoSink = true
		return nil
	}
	into, known := r.shape(key)
	if !known {
		return fmt.Errorf("no key called %q (%s)", key, study.Accepting(key, SettingKeys))
	}
	if !r.described {
		return errors.New("the study describes no sink of this board that could be changed")
	}
	r.shaped = true
	return into(text)
}

// shape tells how a key changes the sink.
func (r *settingReader) shape(key string) (into func(text string) error, known bool) {
	s := &r.sink
	metres := map[string]*float64{"gap": &r.gap, "fin height": &s.Height, "fin thickness": &s.Thickness, "width": &s.Width,
		"length": &s.Length, "base thickness": &s.Base}
	if to := metres[key]; to != nil {
		return func(text string) (err error) {
			*to, err = quantity.Value(text, quantity.Metre, "mm")
			if key == "gap" {
				r.gapAs = r.now
				if err == nil && r.gap == 0 {
					return errors.New("fins without a gap are a block; more than 0.5 mm is accepted")
				}
			}
			return err
		}, true
	}
	switch key {
	case "fins":
		return func(text string) (err error) {
			if s.Fins, err = strconv.Atoi(text); err != nil {
				return errors.New("a whole number is accepted")
			}
			return nil
		}, true
	case "emissivity":
		return func(text string) (err error) {
			s.Emissivity, err = quantity.Value(text, quantity.None, "")
			return err
		}, true
	case "stands":
		return func(text string) error {
			s.Stand = heat.Stand(text)
			return nil
		}, true
	case "material", "finish":
		return func(text string) error { return named(s, key, text) }, true
	}
	return nil, false
}

func notNegative(text string, unit quantity.Unit, bare string) (*float64, error) {
	x, err := quantity.Value(text, unit, bare)
	if err == nil && x < 0 {
		err = fmt.Errorf("a %s of zero or more is accepted", unit)
	}
	return &x, err
}

// flow reads how much air a fan moves, in m³/s: "12 m³/h", "3.3 l/s", "7 cfm";
// a number alone is in m³/h.
func flow(text string) (*float64, error) {
	const forms = "a flow is accepted in m³/h, l/s, l/min or cfm, as in 12 m³/h"
	number, scale := text, 1.0/3600
	for _, u := range []struct {
		name  string
		scale float64
	}{{"m³/h", 1.0 / 3600}, {"m3/h", 1.0 / 3600}, {"m^3/h", 1.0 / 3600}, {"l/min", 1e-3 / 60}, {"l/s", 1e-3}, {"cfm", 0.3048 * 0.3048 * 0.3048 / 60}} {
		if rest, ok := strings.CutSuffix(strings.ToLower(text), u.name); ok {
			number, scale = strings.TrimSpace(rest), u.scale
			break
		}
	}
	x, err := quantity.Value(number, quantity.None, "")
	if err != nil || x < 0 || strings.HasSuffix(number, "%") {
		return nil, errors.New(forms)
	}
	x *= scale
	return &x, nil
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
