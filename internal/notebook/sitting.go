package notebook

import (
	"time"

	"railtally/internal/quantity"
)

// Head is what a sitting is, without its steps. Times are the clock on the
// wall, as UTC like all times of a study.
type Head struct {
	Board string
	Name  string // empty: made from board and day
	On    time.Time
	Clock bool // On has a time of day

	Room     string // °C, as typed; empty: not said
	RoomBare string // the unit of figures written without one

	VoltageMeter, CurrentMeter, Thermometer string
	By, Note                                string
}

// Sitting is one row of a chain: a sitting as it holds now, or held once.
type Sitting struct {
	Row
	Study int64
	Head
}

// room returns the temperature, understood; nil when it was not said.
func (h *Head) room() (*quantity.Entry, error) {
	if h.Room == "" {
		return nil, nil
	}
	c := Content{Text: h.Room, Unit: quantity.Celsius, Bare: h.RoomBare}
	e, err := c.Quantity()
	return &e, err
}
