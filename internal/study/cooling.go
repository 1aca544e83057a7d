package study

import (
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
)

// Cooling says how the chip of one board is cooled, what it must stand, and how
// warm it may become. Temperatures themselves are readings of steps.
type Cooling struct {
	Board string
	Note  string

	// Limits are the highest temperatures allowed, by the names under which
	// temperatures were read; "junction" is known beside them. They come from
	// the user or a data sheet, never from this program.
	Limits     []*TempLimit
	LimitsFrom string

	// What it must stand; nil: the room of the sittings, the highest power
	// measured, sea level.
	Room     *quantity.Entry // °C
	Power    *quantity.Entry // W
	Altitude *quantity.Entry // m

	// Air tells how the air moved while temperatures were read; "" is still.
	Air AirMotion
	// Speed of the air between the fins, m/s, where it is known.
	Speed *quantity.Entry

	// Points say what a temperature is of, where its name does not.
	Points []TempPoint
	// Infrared are the temperatures read by infrared thermometer.
	Infrared []*Infrared

	// Junction is the junction above the case per watt of the whole chip, K/W.
	Junction *quantity.Entry
	// Interface is the resistance between case and sink, K/W.
	Interface *quantity.Entry
	// Chip is the side of the square through which its heat leaves, m.
	Chip *quantity.Entry

	Sink  *Heatsink
	Under *BoardCooler
}

// TempLimit is the highest temperature allowed at a point.
type TempLimit struct {
	Name string
	Max  quantity.Entry // °C
}

// AirMotion says how the air moves.
type AirMotion string

// The ways the air moves.
const (
	StillAir AirMotion = "still"
	Draught  AirMotion = "draught" // faint, and not by a fan at the sink
	Fan      AirMotion = "fan"
)

// AirMotions lists them.
var AirMotions = []AirMotion{StillAir, Draught, Fan}

// PointKind is what a temperature is of.
type PointKind string

// The kinds of point.
const (
	CasePoint     PointKind = "case"
	SinkPoint     PointKind = "sink"
	BoardPoint    PointKind = "board"
	JunctionPoint PointKind = "junction" // by a sensor on the chip
	OtherPoint    PointKind = "other"
)

// PointKinds lists them.
var PointKinds = []PointKind{CasePoint, SinkPoint, BoardPoint, JunctionPoint, OtherPoint}

// TempPoint gives a temperature's name a kind.
type TempPoint struct {
	Name string
	What PointKind
}

// PointKind tells what a temperature of that name is of: as the points say, or
// by the name itself.
func (c *Cooling) PointKind(name string) PointKind {
	if c != nil {
		for _, p := range c.Points {
			if p.Name == name {
				return p.What
			}
		}
	}
	switch plain(name) {
	case "case", "lid", "package", "chip":
		return CasePoint
	case "sink", "heatsink", "heat sink", "fins":
		return SinkPoint
	case "board", "pcb":
		return BoardPoint
	case "junction", "die", "on-chip":
		return JunctionPoint
	}
	return OtherPoint
}

// Infrared says how a temperature was read by infrared.
type Infrared struct {
	Name       string
	Emissivity quantity.Entry  // of the surface in the thermometer's band
	Set        *quantity.Entry // what the thermometer was set to; nil: the same
}

// Heatsink is a sink as a person can measure it.
type Heatsink struct {
	Kind                     heat.Kind
	Width, Length, Base      *quantity.Entry // m, across the fins and along them; Base is its thickness
	Fins                     int
	Gap, FinHeight, FinThick *quantity.Entry // m; Gap stands in for Fins
	Stands                   heat.Stand
	Material                 string
	Finish                   string
	Emissivity               *quantity.Entry // instead of Finish
}

// BoardCooler is the board as a cooler.
type BoardCooler struct {
	Width, Height, Thickness *quantity.Entry // m
	Planes                   int             // unbroken copper planes
	Copper                   *quantity.Entry // thickness of one, m; nil: 35 µm
	Faces                    int             // free faces; 0: 2
	Stands                   heat.Stand      // "": upright
	Emissivity               *quantity.Entry // nil: solder mask, 0.90
}

// CoolingOf returns how a board's chip is cooled, or nil.
func (s *Study) CoolingOf(board string) *Cooling {
	for _, c := range s.Cooling {
		if c.Board == board {
			return c
		}
	}
	return nil
}
