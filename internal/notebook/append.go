package notebook

import (
	"context"
	"fmt"
	"time"

	"railtally/internal/quantity"
)

// opKeep is what messages call the keeping of an entry.
const opKeep = "keep the entry"

// Append keeps one entry. When it returns without an error the entry is on
// disk. A step is opened by an entry of kind Step, and the others belong to one.
func (nb *Notebook) Append(ctx context.Context, d Draft) (Ack, error) {
	acks, err := nb.AppendAll(ctx, []Draft{d})
	if err != nil {
		return Ack{}, err
	}
	return acks[0], nil
}

// AppendAll keeps several entries in that order, all or none: what a browser
// wrote while the connection was down. Later ones may name the steps of earlier
// ones by StepKey.
func (nb *Notebook) AppendAll(ctx context.Context, drafts []Draft) (acks []Ack, err error) {
	err = nb.write(ctx, opKeep, func(t *tx) error {
		acks = acks[:0]
		for i := range drafts {
			a, err := t.keep(&drafts[i])
			if err != nil {
				if len(drafts) > 1 {
					err = fmt.Errorf("entry %d of %d: %w", i+1, len(drafts), err)
				}
				return err
			}
			acks = append(acks, a)
		}
		return nil
	})
	return acks, err
}

// Correct supersedes the entry of that id, which must hold now, with another
// content of the same kind. It may belong to another step of the sitting. A
// withdrawn entry counts again.
func (nb *Notebook) Correct(ctx context.Context, id int64, c Content, o Origin) (ack Ack, err error) {
	const op = "correct the entry"
	err = nb.write(ctx, op, func(t *tx) error {
		ch, _ := chainOf(AnEntry)
		if r, ok, err := ch.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		head, err := ch.mustHead(t, id)
		if err != nil {
			return err
		}
		old, err := entryByID(t, id)
		if err != nil {
			return err
		}
		e := Entry{Row: Row{First: head.First, Supersedes: head.ID, Origin: o}, Study: old.Study, Sitting: old.Sitting, Content: c.normal()}
		if e.Kind != old.Kind {
			return invalid(op, "a %s does not become a %s", old.Kind, e.Kind)
		}
		if ack.Warning, err = t.fits(&e); err != nil {
			return err
		}
		if err := free(t, &e); err != nil {
			return err
		}
		if err := ch.insert(t, &e.Row, e.values()...); err != nil {
			return err
		}
		ack.ID, ack.First = e.ID, e.First
		return nil
	})
	return ack, err
}

// keep inserts one new entry.
func (t *tx) keep(d *Draft) (Ack, error) {
	ch, _ := chainOf(AnEntry)
	sitting, err := sittingNow(t, d.Sitting)
	if err != nil {
		return Ack{}, err
	}
	e := Entry{Row: Row{Origin: d.Origin}, Study: sitting.Study, Sitting: sitting.First, Content: d.Content.normal()}
	if d.StepKey != "" {
		step, ok, err := ch.sent(t, d.StepKey)
		if err != nil {
			return Ack{}, err
		}
		if !ok {
			return Ack{}, invalid(opKeep, "no step was sent under the key %q", d.StepKey)
		}
		e.Step = step.First
	}
	if r, ok, err := ch.sent(t, d.Key); ok || err != nil {
		return t.again(r, &e, err)
	}
	ack := Ack{}
	if ack.Warning, err = t.fits(&e); err != nil {
		return ack, err
	}
	other, taken, err := entryInSlot(t, &e)
	switch {
	case err != nil:
		return ack, err
	case taken && e.Kind != Step && !d.Aside:
		return ack, &Taken{By: other}
	case taken && e.Kind != Step:
		e.Withdrawn, ack.Aside = true, true
		if e.Why == "" {
			e.Why = "set aside: " + (&Taken{By: other}).Error()
		}
	}
	if err := ch.insert(t, &e.Row, e.values()...); err != nil {
		return ack, err
	}
	if e.Kind == Step && sitting.Withdrawn {
		ack.Warning = "the sitting was taken back; the step counts when it is brought back"
	}
	ack.ID, ack.First = e.ID, e.First
	return ack, nil
}

// again answers an entry that was sent before.
func (t *tx) again(r Row, e *Entry, err error) (Ack, error) {
	if err != nil {
		return Ack{}, err
	}
	old, err := entryByID(t, r.ID)
	if err != nil {
		return Ack{}, err
	}
	if r.Supersedes != 0 || old.Sitting != e.Sitting || !old.Content.equal(&e.Content) {
		return Ack{}, invalid(opKeep, "the key %q was used for another entry", r.Key)
	}
	return Ack{ID: r.ID, First: r.First, Again: true, Aside: r.Withdrawn}, nil
}

// fits checks an entry in itself and against its step, and warns of what is odd
// but no reason to refuse it.
func (t *tx) fits(e *Entry) (warning string, err error) {
	if err := e.Content.fault(); err != nil {
		return "", invalid(opKeep, "%w", err)
	}
	if e.Kind == Step {
		if e.At.IsZero() {
			return "", nil
		}
		last, err := lastStepAt(t, e.Sitting)
		if err == nil && last > writeWall(e.At) {
			warning = "an earlier step of the sitting has a later time, " + last
		}
		return warning, err
	}
	ch, _ := chainOf(AnEntry)
	head, err := ch.head(t, e.Step)
	if err != nil {
		return "", err
	}
	step, err := entryByID(t, head.ID)
	switch {
	case err != nil:
		return "", err
	case step.Kind != Step:
		return "", invalid(opKeep, "entry %d is a %s and no step", e.Step, step.Kind)
	case step.Sitting != e.Sitting:
		return "", invalid(opKeep, "step %d is of another sitting", e.Step)
	}
	e.Step = step.First
	if step.Withdrawn {
		return "the step was taken back; the entry counts when it is brought back", nil
	}
	return "", nil
}

// free refuses an entry where another stands already.
func free(q querier, e *Entry) error {
	if e.Kind == Step {
		return nil
	}
	other, taken, err := entryInSlot(q, e)
	if err == nil && taken {
		err = &Taken{By: other}
	}
	return err
}

// normal leaves of an entry what matters for its kind.
func (c Content) normal() Content {
	out := Content{Kind: c.Kind, Step: c.Step}
	reading := func() {
		out.Text, out.Unit, out.Bare, out.Meter, out.MeterRange, out.From = c.Text, c.Unit, c.Bare, c.Meter, c.MeterRange, c.From
	}
	switch c.Kind {
	case Step:
		out.State, out.At, out.Text = c.State, c.At.UTC(), c.Text
	case Zero:
		out.Rail, out.Tap, out.Instrument, out.Range = c.Rail, c.Tap, c.Instrument, c.Range
		reading()
	case Current:
		out.Rail, out.Tap, out.Back = c.Rail, c.Tap, c.Back
		if !c.Back {
			out.WithVoltage = c.WithVoltage
		}
		reading()
	case Voltage:
		out.Rail, out.FeedSide = c.Rail, c.FeedSide
		reading()
	case Temperature:
		out.Name = c.Name
		reading()
	case Throughput:
		out.Text, out.Unit, out.Bare = c.Text, quantity.BytePerSecond, c.Bare
	case Note:
		out.Rail, out.Text = c.Rail, c.Text
	default:
		return c
	}
	return out
}

// equal tells whether two contents say the same.
func (c *Content) equal(o *Content) bool {
	a, b := *c, *o
	a.At, b.At = time.Time{}, time.Time{}
	return a == b && c.At.Equal(o.At)
}
