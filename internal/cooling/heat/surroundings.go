package heat

// Surroundings are what a sink and a board stand in.
type Surroundings struct {
	Air      float64 // temperature of the air that reaches them, °C
	Walls    float64 // temperature of what they radiate to, °C; usually Air
	Pressure float64 // Pa
	Speed    float64 // of the air between the fins, m/s; 0: still
}

// Room is a room of one temperature at sea level, its air still.
func Room(celsius float64) Surroundings {
	return Surroundings{Air: celsius, Walls: celsius, Pressure: SeaLevel}
}

// The range of rooms that are computed: from a cold store to a hot case.
const coldest, hottest, fastest = -40.0, 85.0, 10.0

// Check finds everything about the surroundings that cannot be computed.
func (s Surroundings) Check() error {
	var p Problems
	p.within("room", s.Air, coldest, hottest, 1, "°C")
	if s.Walls != s.Air {
		p.within("walls", s.Walls, coldest, hottest, 1, "°C")
	}
	p.within("pressure", s.Pressure, PressureAt(highest), 110e3, 1e-3, "kPa")
	p.within("air speed", s.Speed, 0, fastest, 1, "m/s")
	return p.orNil()
}

// CheckAltitude finds an altitude that is not computed.
func CheckAltitude(metres float64) error {
	var p Problems
	p.within("altitude", metres, -430, highest, 1, "m")
	return p.orNil()
}
