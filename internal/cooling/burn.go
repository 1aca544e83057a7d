package cooling

import (
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Temperatures of bare metal at which a touch burns skin, in °C. They are those
// of ISO 13732-1 and ECMA-287 as secondary sources tell them, and guidance
// only: the standard that holds for a product decides.
const (
	burnsAtOnce = 65.0 // a touch of up to a second
	burnsSoon   = 55.0 // up to ten seconds
	burnsHeld   = 48.0 // ten minutes, whatever the material
)

// Burn is the caution that goes with a touchable temperature of which the upper
// end of the interval is given; nothing where there is none. Metal is assumed, as it
// burns soonest.
func Burn(name string, celsius float64) phrase.Phrase {
	t := phrase.Number(quantity.Format(celsius, quantity.Celsius, 2))
	switch {
	case celsius >= burnsAtOnce:
		return phrase.New("Caution: the %s may reach %s. From about 65 °C bare metal burns skin within a second of touching it. Let it cool before you reach in, and guard it or mark it where people can touch it.", name, t)
	case celsius >= burnsSoon:
		return phrase.New("Caution: the %s may reach %s. Metal of 55 °C burns skin that stays on it for some seconds. Do not hold it.", name, t)
	case celsius >= burnsHeld:
		return phrase.New("Caution: the %s may reach %s. Above 48 °C anything burns skin that rests on it for minutes.", name, t)
	}
	return phrase.Phrase{}
}

// Cautions are those of a board's case and sink at what is asked and as they
// were read.
func (c *Cooling) Cautions(b *Board) ([]phrase.Phrase, error) {
	var out []phrase.Phrase
	for _, p := range b.Points {
		if p.Kind != study.CasePoint && p.Kind != study.SinkPoint {
			continue
		}
		hottest := 0.0
		for _, r := range p.Readings {
			hottest = max(hottest, r.Temperature.Hi())
		}
		if p.Line != nil && b.Ask.Known() {
			pr, err := c.Predict(p, b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
			if err != nil {
				return nil, err
			}
			hottest = max(hottest, pr.Temperature.Hi())
		}
		if s := Burn(p.Name, hottest); !s.IsZero() {
			out = append(out, s)
		}
	}
	return out, nil
}
