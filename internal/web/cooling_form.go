package web

import (
	"fmt"
	"math"
	"strconv"

	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// coolingGroup is a set of fields that belong together.
type coolingGroup struct {
	Title, Says string
	Fields      []coolingField
}

// coolingField is a field with a slider beside it, which only a script moves. An
// empty field leaves what there is.
type coolingField struct {
	field
	Slider *slider
	Clears string // names of fields that this one stands in for
	// Placeholder is what there is now; where Brief is set the hint says no more
	// than that, and shows only when something else is typed.
	Placeholder string
	Brief       bool
}

// slider is a range in the unit of its field.
type slider struct{ Min, Max, Step, Now, Unit string }

// sliding makes a slider; its thumb starts at what there is.
func sliding(lo, hi, step, now float64, unit string) *slider {
	f := func(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }
	return &slider{f(lo), f(hi), f(step), f(math.Min(hi, math.Max(lo, now))), unit}
}

// groups are the fields for what a board has.
func (a *coolingAsk) groups() []coolingGroup {
	out := []coolingGroup{{Title: "What it must stand", Fields: a.askFields()}}
	m := a.x.board.Model
	switch {
	case m == nil:
	case m.Ladder.Sink != nil:
		out = append(out, coolingGroup{Title: "Another sink", Says: "Leave a field empty to keep what there is.", Fields: a.sinkFields(m)},
			coolingGroup{Title: "Moving air", Fields: a.airFields(m)})
	}
	return out
}

// add completes a field from the form.
func (a *coolingAsk) add(list []coolingField, x coolingField) []coolingField {
	x.field = a.form.fill(x.field)
	if x.Slider != nil {
		x.Mode = "text"
		if now, ok := a.shown(x.Name, x.Slider.Unit); ok {
			x.Slider.Now = strconv.FormatFloat(now, 'g', 6, 64)
		}
	}
	return append(list, x)
}

// shown is a field's value in the unit of its slider, where it has one.
func (a *coolingAsk) shown(name, unit string) (float64, bool) {
	text := a.form.Raw(name)
	if text == "" {
		return 0, false
	}
	for _, u := range []struct {
		name  string
		unit  quantity.Unit
		scale float64
	}{{"W", quantity.Watt, 1}, {"°C", quantity.Celsius, 1}, {"m", quantity.Metre, 1}, {"mm", quantity.Metre, 1e3}, {"m/s", quantity.MetrePerSecond, 1},
		{"K/W", quantity.KelvinPerWatt, 1}, {"", quantity.None, 1}} {
		if u.name == unit {
			x, err := quantity.Value(text, u.unit, u.name)
			return x * u.scale, err == nil
		}
	}
	return 0, false
}

func (a *coolingAsk) askFields() (out []coolingField) {
	b := a.x.board
	ask := b.Ask
	power, room := 10.0, 25.0
	powerHint, roomHint := "nothing is known of it", "nothing is known of it"
	powerNow, roomNow, limitNow := "", "", ""
	if ask.Power.Valid() {
		power = ask.Power.Estimate()
		powerHint, powerNow = "", quantity.Format(power, quantity.Watt, 3)
		if ask.FromState != "" {
			powerHint = "the total of " + ask.FromState
		}
	}
	if ask.Room.Valid() {
		room = ask.Room.Estimate()
		roomHint, roomNow = "", quantity.Format(room, quantity.Celsius, 3)
	}
	most := power
	limit, limitHint := 85.0, "none is stated"
	for _, p := range b.Points {
		if p.Line != nil {
			most = math.Max(most, p.Line.PMax)
		}
		if p.Name == a.limitOf && p.Limit != nil {
			limit = p.Limit.Max.Value()
			limitHint, limitNow = "", quantity.Format(limit, quantity.Celsius, 3)
			if b.How.LimitsFrom != "" && a.form.Raw("limit") == "" {
				limitHint = "from " + b.How.LimitsFrom
			}
		}
	}
	add := func(x coolingField) { out = a.add(out, x) }
	add(coolingField{field: field{Name: "power", Label: "Power", Hint: powerHint}, Placeholder: powerNow, Slider: sliding(0.1, nice(2*most), 0.1, power, "W")})
	add(coolingField{field: field{Name: "room", Label: "Room", Hint: roomHint}, Placeholder: roomNow, Slider: sliding(-10, 80, 1, room, "°C")})
	add(coolingField{field: field{Name: "altitude", Label: "Altitude", Hint: "above the sea"}, Placeholder: fmt.Sprintf("%.0f m", ask.Altitude), Slider: sliding(0, 5000, 100, ask.Altitude, "m")})
	if a.limitOf != "" {
		add(coolingField{field: field{Name: "limit", Label: "Limit of the " + a.limitOf, Hint: limitHint}, Placeholder: limitNow, Slider: sliding(30, 130, 1, limit, "°C")})
	}
	return out
}

// nice rounds up to a round number.
func nice(x float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(math.Max(x, 1e-3))))
	for _, m := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if m*p >= x {
			return m * p
		}
	}
	return x
}

func (a *coolingAsk) sinkFields(m *cooling.Model) (out []coolingField) {
	s := m.Ladder.Sink
	add := func(x coolingField) { out = a.add(out, x) }
	length := func(key, label string, now, lo, hi, step float64) {
		add(coolingField{field: field{Name: fieldOf(key), Label: label, Hint: quantity.Format(now, quantity.Metre, 3) + " now"}, Placeholder: quantity.Format(now, quantity.Metre, 3), Brief: true, Slider: sliding(lo, hi, step, 1000*now, "mm")})
	}
	if s.Kind == heat.PlateFins {
		add(coolingField{field: field{Name: "fins", Label: "Fins", Hint: fmt.Sprintf("%d now", s.Fins), Mode: "numeric"}, Placeholder: fmt.Sprint(s.Fins), Brief: true, Slider: sliding(2, math.Max(30, float64(2*s.Fins)), 1, float64(s.Fins), ""), Clears: "gap"})
		add(coolingField{field: field{Name: "gap", Label: "Gap between them", Hint: "sets the count of fins"}, Placeholder: quantity.Format(s.Gap(), quantity.Metre, 2), Slider: sliding(0.5, 15, 0.1, 1000*s.Gap(), "mm"), Clears: "fins"})
		length("fin height", "Fin height", s.Height, 1, math.Max(60, nice(3000*s.Height)), 1)
		length("fin thickness", "Fin thickness", s.Thickness, 0.2, 4, 0.1)
	}
	length("width", "Base width", s.Width, 10, math.Max(150, nice(3000*s.Width)), 1)
	length("length", "Base length", s.Length, 10, math.Max(150, nice(3000*s.Length)), 1)
	length("base thickness", "Base thickness", s.Base, 0.5, 12, 0.5)
	choose := func(key, label string, words []string, now string) {
		f := field{Name: fieldOf(key), Label: label, Kind: "select", Options: []option{{Value: "", Label: "as it is: " + now}}}
		for _, w := range words {
			f.Options = append(f.Options, option{Value: w, Label: w})
		}
		add(coolingField{field: f})
	}
	var stands, finishes, metals []string
	for _, x := range heat.Stands {
		stands = append(stands, string(x))
	}
	finish, metal := "a surface of its own", "a metal of its own"
	for _, x := range heat.Finishes() {
		finishes = append(finishes, x.Name)
		if x.Emissivity == s.Emissivity {
			finish = x.Name
		}
	}
	for _, x := range heat.Materials() {
		metals = append(metals, x.Name)
		if x.Conductivity == s.Conductivity {
			metal = x.Name
		}
	}
	choose("stands", "Stands", stands, string(s.Stand))
	choose("finish", "Finish", finishes, finish)
	choose("material", "Material", metals, metal)
	add(coolingField{field: field{Name: "interface", Label: "Between case and sink", Hint: quantity.FormatU(m.Interface.Estimate, m.Interface.Expanded, quantity.KelvinPerWatt) + " now"},
		Placeholder: quantity.Format(m.Interface.Estimate, quantity.KelvinPerWatt, 3), Brief: true, Slider: sliding(0, 5, 0.05, m.Interface.Estimate, "K/W")})
	if m.Ladder.Path.Board != nil {
		add(coolingField{field: field{Name: "sink", Label: "Sink", Kind: "select", Options: []option{{Value: "", Label: "with it"}, {Value: "none", Label: "none: the board alone"}}}})
	}
	return out
}

func (a *coolingAsk) airFields(m *cooling.Model) (out []coolingField) {
	now := 0.0
	hint, air := "still air now", "0 m/s"
	if s := a.x.board.How.Speed; s != nil {
		now = s.Value()
		hint, air = s.String()+" now", s.String()
	}
	label := "Air between the fins"
	if m.Ladder.Sink.Kind == heat.Plate {
		label = "Air along the plate"
	}
	out = a.add(out, coolingField{field: field{Name: "air-speed", Label: label, Hint: hint}, Placeholder: air, Slider: sliding(0, 3, 0.05, now, "m/s"), Clears: "fan-flow"})
	if s := m.Ladder.Sink; s.Kind == heat.PlateFins {
		most := nice(math.Min(30, 10/0.8*s.Width*s.Height*3600))
		out = a.add(out, coolingField{field: field{Name: "fan-flow", Label: "Or a fan, by its flow", Hint: "m³/h, l/s or cfm, as printed on it"}, Slider: sliding(0, most, 0.5, 0, "m³/h"), Clears: "air-speed"})
	}
	return out
}
