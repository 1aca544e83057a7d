package cooling

import (
	"fmt"
	"math"

	"railtally/internal/study"
)

// Map is a point's temperature over power and room, with the line on which it
// meets its limit.
type Map struct {
	Point    *Point
	Pressure float64
	Powers   []float64 // W, ascending
	Rooms    []float64 // °C, ascending
	// Celsius and U are temperature and standard uncertainty, by room and power.
	Celsius, U [][]float64

	Limited bool
	Limit   float64
	Level   float64
	// For each room the largest power that keeps the limit at the estimate, and
	// the powers at which it is kept with the level and broken with it.
	Meets, Surely, Hopeless []float64

	AskPower, AskRoom float64 // what is asked; NaN where nothing is
}

// MapOf computes a map of n powers by n rooms, at least two, around what is
// asked and what was measured; nil where the point has no law.
func (c *Cooling) MapOf(b *Board, p *Point, n int) *Map {
	if p.Line == nil || n < 2 {
		return nil
	}
	return c.mapOf(b, p, p.Line, n)
}

// MapAfter is the map of a point as a trial would make it; nil where nothing of
// the point was measured.
func (c *Cooling) MapAfter(b *Board, p *Point, t *Trial, n int) (*Map, error) {
	if p.Line == nil || n < 2 || t.base == nil {
		return nil, nil
	}
	after, err := t.Curve(p)
	if err != nil {
		return nil, err
	}
	return c.mapOf(b, p, after, n), nil
}

func (c *Cooling) mapOf(b *Board, p *Point, curve Curve, n int) *Map {
	m := &Map{Point: p, Pressure: b.Ask.Pressure, Level: c.Level, AskPower: math.NaN(), AskRoom: math.NaN()}
	power, room := p.Line.PMax, math.Max(45, p.Line.Room0)
	if b.Ask.Known() {
		m.AskPower, m.AskRoom = b.Ask.Power.Estimate(), b.Ask.Room.Estimate()
		power, room = math.Max(power, m.AskPower), math.Max(room, m.AskRoom)
	}
	lo := math.Min(10*math.Floor(p.Line.Room0/10), 10*math.Floor(room/10))
	hi := 10*math.Floor(room/10) + 20
	for i := range n {
		w := float64(i) / float64(n-1)
		m.Powers = append(m.Powers, power*(0.2+1.3*w))
		m.Rooms = append(m.Rooms, lo+(hi-lo)*w)
	}
	for _, room := range m.Rooms {
		t, u := make([]float64, n), make([]float64, n)
		for i, power := range m.Powers {
			t[i], u[i] = curve.At(power, room, m.Pressure)
		}
		m.Celsius, m.U = append(m.Celsius, t), append(m.U, u)
	}
	if p.Limit != nil {
		m.Limited, m.Limit = true, p.Limit.Max.Value()
		for _, room := range m.Rooms {
			at := func(prob float64) float64 { return powerFor(curve, m.Limit, room, m.Pressure, prob) }
			m.Meets = append(m.Meets, at(0.5))
			m.Surely = append(m.Surely, at(c.Level))
			m.Hopeless = append(m.Hopeless, at(1-c.Level))
		}
	}
	return m
}

// celsius prints a temperature to a tenth of a kelvin.
func celsius(x float64) string { return fmt.Sprintf("%.1f °C", x) }

// Deciding is the point whose limit is met first at what is asked; without
// limits the case, or the first that can be predicted; nil where none can.
func (c *Cooling) Deciding(b *Board) *Point {
	var first, limited *Point
	least := math.Inf(1)
	for _, p := range b.Points {
		if p.Line == nil {
			continue
		}
		if first == nil || p.Kind == study.CasePoint && first.Kind != study.CasePoint {
			first = p
		}
		if p.Limit == nil {
			continue
		}
		room := p.Line.Room0
		if b.Ask.Room.Valid() {
			room = b.Ask.Room.Estimate()
		}
		if x := p.Line.PowerFor(p.Limit.Max.Value(), room, b.Ask.Pressure, c.Level); x < least {
			least, limited = x, p
		}
	}
	if limited != nil {
		return limited
	}
	return first
}
