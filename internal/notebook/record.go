package notebook

import (
	"context"
	"fmt"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Record is a study as it holds now, and the rows that it is made of. All of it
// is of one moment.
type Record struct {
	// Study is complete as it was recorded, and maybe in the middle of work:
	// study.Check says what it lacks, Finished what can be computed.
	Study    *study.Study
	Plan     *Plan
	Sittings []Sitting // those that count, in the order of Study.Sittings
	Ticks    []Tick    // those that count
	Entries  []Entry   // those that hold now; some may be of withdrawn steps and sittings
	// LastChange is the number of the newest change that the record contains.
	LastChange int64

	// SittingOf and StepOf tell the first rows of sittings and steps of Study.
	SittingOf map[*study.Sitting]int64
	StepOf    map[*study.Step]int64
}

// Study returns a study as it holds now; see Record.
func (nb *Notebook) Study(ctx context.Context, studyID int64) (*study.Study, error) {
	r, err := nb.Record(ctx, studyID)
	if err != nil {
		return nil, err
	}
	return r.Study, nil
}

// Record returns a study as it holds now with the rows it is made of.
func (nb *Notebook) Record(ctx context.Context, studyID int64) (r *Record, err error) {
	log := nb.logs.of(studyID)
	// The lock is taken before the transaction begins, so that what the log
	// holds is never newer than what the transaction sees.
	log.mu.Lock()
	defer log.mu.Unlock()
	err = nb.read(ctx, "read the study", func(q querier) error {
		if err := log.readOn(q, studyID); err != nil {
			return err
		}
		r, err = recordNow(q, studyID, log.inOrder())
		return err
	})
	return r, err
}

// recordNow reads a study whose log is given.
func recordNow(q querier, studyID int64, log []*held) (*Record, error) {
	r := &Record{}
	var err error
	if r.Plan, err = planNow(q, studyID); err != nil {
		return nil, err
	}
	if r.Sittings, err = sittingsNow(q, studyID); err != nil {
		return nil, err
	}
	if r.Ticks, err = ticksNow(q, studyID); err != nil {
		return nil, err
	}
	if r.LastChange, err = lastSeq(q); err != nil {
		return nil, err
	}
	r.Entries = make([]Entry, len(log))
	for i, h := range log {
		r.Entries[i] = h.Entry
	}
	return r, r.assemble(log)
}

// Entries returns every row of a study's log, also those that hold no longer, in
// the order in which they were accepted.
func (nb *Notebook) Entries(ctx context.Context, studyID int64) (out []Entry, err error) {
	err = nb.read(ctx, "read the log", func(q querier) error {
		out, err = entryRows(q, "t.study = ? ORDER BY t.id", studyID)
		return err
	})
	return out, err
}

// LogOf returns the newest rows of the log of a sitting but for the steps
// themselves, newest first and at most limit of them, also those that hold no
// longer. What supersedes one of them is among them too, being newer.
func (nb *Notebook) LogOf(ctx context.Context, sitting int64, limit int) (out []Entry, err error) {
	err = nb.read(ctx, "read the log", func(q querier) error {
		out, err = entryRows(q, "t.sitting = ? AND t.kind <> 'step' ORDER BY t.id DESC LIMIT ?", sitting, limit)
		return err
	})
	return out, err
}

// EntriesOf returns every row of a step's chain and of what belongs to it, in
// the order in which they were accepted. step is its first row.
func (nb *Notebook) EntriesOf(ctx context.Context, step int64) (out []Entry, err error) {
	err = nb.read(ctx, "read the log", func(q querier) error {
		out, err = entryRows(q, "t.step = ?1 OR t.id = ?1 OR t.first = ?1 ORDER BY t.id", step)
		return err
	})
	return out, err
}

// Entry returns one row of a log.
func (nb *Notebook) Entry(ctx context.Context, id int64) (e Entry, err error) {
	err = nb.read(ctx, "read the log", func(q querier) error {
		e, err = entryByID(q, id)
		return err
	})
	return e, err
}

// assemble builds the study from its rows.
func (r *Record) assemble(log []*held) error {
	s := *r.Plan.Study
	s.Sittings, s.Done = nil, ticksOf(r.Ticks, &s)
	r.Study = &s
	r.SittingOf = make(map[*study.Sitting]int64, len(r.Sittings))
	r.StepOf = make(map[*study.Step]int64)
	sittings := make(map[int64]*study.Sitting, len(r.Sittings))
	for i := range r.Sittings {
		h := &r.Sittings[i]
		room, err := h.room()
		if err != nil {
			return damaged(fmt.Sprintf("sitting %d", h.ID), err)
		}
		x := &study.Sitting{Name: h.Name, Named: h.Name != "", Board: h.Board, On: h.On, Clock: h.Clock, Room: room, By: h.By, Note: h.Note,
			VoltageMeter: h.VoltageMeter, CurrentMeter: h.CurrentMeter, Thermometer: h.Thermometer}
		s.Sittings = append(s.Sittings, x)
		sittings[h.First], r.SittingOf[x] = x, h.First
	}
	steps := make(map[int64]*study.Step)
	for i := range r.Entries {
		e := &r.Entries[i]
		if x := sittings[e.Sitting]; e.Kind == Step && x != nil {
			st := &study.Step{At: e.At, State: e.State}
			steps[e.First], r.StepOf[st] = st, e.First
			x.Steps = inTime(x.Steps, st)
		}
	}
	for i := range r.Entries {
		e := &r.Entries[i]
		if st := steps[e.Step]; st != nil {
			read, err := log[i].quantity()
			if err != nil {
				return damaged(fmt.Sprintf("entry %d", e.ID), err)
			}
			place(st, &e.Content, read)
		}
	}
	s.NameSittings()
	return nil
}

// inTime puts a step behind the others, or before those that have a later time:
// a step that was written while the connection was down arrives late.
func inTime(steps []*study.Step, st *study.Step) []*study.Step {
	at := len(steps)
	if !st.At.IsZero() {
		for i := at - 1; i >= 0 && (steps[i].At.IsZero() || steps[i].At.After(st.At)); i-- {
			if !steps[i].At.IsZero() {
				at = i
			}
		}
	}
	steps = append(steps, nil)
	copy(steps[at+1:], steps[at:])
	steps[at] = st
	return steps
}

// place puts what an entry says into its step; e is what was read.
func place(st *study.Step, c *Content, e quantity.Entry) {
	if c.Kind == Note {
		if c.Rail == "" {
			st.Note = c.Text
		} else {
			railIn(st, c.Rail).Note = c.Text
		}
		return
	}
	read := study.Reading{Entry: e, Meter: c.Meter, Range: c.MeterRange, From: c.From}
	switch c.Kind {
	case Zero:
		st.Zeros = append(st.Zeros, &study.Zero{Instrument: c.Instrument, Range: c.Range, Rail: c.Rail, Tap: c.Tap, Reading: read})
	case Current:
		t := tapIn(railIn(st, c.Rail), c.Tap)
		if c.Back {
			t.Back = &read
		} else {
			t.Reading = read
			t.WithVoltage, _ = c.share() // checked when it was kept
		}
	case Voltage:
		rail := railIn(st, c.Rail)
		rail.Voltage, rail.FeedSide = &read, c.FeedSide
	case Temperature:
		st.Temperatures = append(st.Temperatures, &study.Named{Name: c.Name, Reading: read})
	case Throughput:
		st.Throughput = &e
	}
}

func railIn(st *study.Step, name string) *study.RailReading {
	r := st.Reading(name)
	if r == nil {
		r = &study.RailReading{Rail: name}
		st.Rails = append(st.Rails, r)
	}
	return r
}

func tapIn(r *study.RailReading, name string) *study.TapReading {
	for _, t := range r.Current {
		if t.Tap == name {
			return t
		}
	}
	t := &study.TapReading{Tap: name}
	r.Current = append(r.Current, t)
	return t
}
