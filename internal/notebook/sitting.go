package notebook

import (
	"context"
	"errors"
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

// fault says what keeps a sitting from being kept, or nil.
func (h *Head) fault() error {
	if h.Board == "" {
		return errors.New("a sitting needs a board")
	}
	if h.On.IsZero() {
		return errors.New("a sitting needs its day")
	}
	_, err := h.room()
	return err
}

// OpenSitting begins a sitting of a study.
func (nb *Notebook) OpenSitting(ctx context.Context, studyID int64, h Head, o Origin) (ack Ack, err error) {
	const op = "open the sitting"
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(ASitting)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		if err := studyExists(t, studyID); err != nil {
			return err
		}
		x := Sitting{Row: Row{Origin: o}, Study: studyID, Head: h}
		ack, err = t.keepSitting(op, &x)
		return err
	})
	return ack, err
}

// CorrectSitting supersedes the sitting's row of that id, which must hold now. A
// withdrawn sitting counts again.
func (nb *Notebook) CorrectSitting(ctx context.Context, id int64, h Head, o Origin) (ack Ack, err error) {
	const op = "correct the sitting"
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(ASitting)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		if _, err := c.mustHead(t, id); err != nil {
			return err
		}
		old, err := sittingByID(t, id)
		if err != nil {
			return err
		}
		x := Sitting{Row: Row{First: old.First, Supersedes: old.ID, Origin: o}, Study: old.Study, Head: h}
		ack, err = t.keepSitting(op, &x)
		return err
	})
	return ack, err
}

func (t *tx) keepSitting(op string, x *Sitting) (Ack, error) {
	if err := x.fault(); err != nil {
		return Ack{}, invalid(op, "%w", err)
	}
	c, _ := chainOf(ASitting)
	err := c.insert(t, &x.Row, x.values()...)
	return Ack{ID: x.ID, First: x.First}, err
}
