package cooling

import (
	"fmt"
	"math"
	"slices"
	"time"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Reading is one temperature in one state of one sitting, beside the power.
type Reading struct {
	On      study.StateOn
	Sitting *study.Sitting
	Name    string

	Temperature tally.Figure // °C
	Room        gum.Value    // °C
	Rise        tally.Figure // K over the room
	Power       tally.Figure // W, of this state in this sitting
	Resistance  tally.Figure // K/W: rise over power; for this power only

	// Shown is how many readings stand behind it; Settling is what their series
	// says, nil where they are no series, and Unsettled why it says nothing.
	Shown     int
	Settling  *Settling
	Unsettled error
	// Seconds from the first reading and what was shown, in °C; nil where there
	// is no series.
	Seconds, Celsius []float64
	// LeftOut tells that it takes no part in the fit.
	LeftOut bool

	accuracy  gum.Value // the thermometer's error; not Valid when not known
	scattered gum.Value // the rise with its scatter; not Valid before the fit
}

// series are the readings of one temperature in a state of a sitting.
type series struct {
	at      []time.Time
	entries []study.Reading
	// left are the counts of readings after which another state was read: from
	// there on it settles anew.
	left []int
}

// stretches divides a series where the state was left.
func (s *series) stretches() (out []*series) {
	from := 0
	for _, to := range append(slices.Clone(s.left), len(s.entries)) {
		if to > from {
			out = append(out, &series{at: s.at[from:to], entries: s.entries[from:to]})
		}
		from = to
	}
	return out
}

// leastSeries is how many readings, with times, are looked at as a series.
const leastSeries = 5

// collect gathers the temperatures of a board. What cannot be used becomes a
// finding.
func (c *Cooling) collect(b *Board) error {
	for _, st := range b.tally.States {
		for _, tk := range st.Taken {
			if err := c.take(b, st, tk); err != nil {
				return err
			}
		}
	}
	return nil
}

func (c *Cooling) take(b *Board, st *tally.State, tk *tally.Taken) error {
	on := study.StateOn{Board: b.Name, State: st.State.Name}
	names, read := during(tk.Sitting, st.State.Name)
	if len(names) == 0 {
		return nil
	}
	note := func(code string, text, do phrase.Phrase) {
		b.note(sensing.Finding{Code: code, Severity: sensing.Doubtful, Board: b.Name, Sitting: tk.Sitting.Name,
			States: []string{st.State.Name}, Text: text, Do: do})
	}
	switch {
	case tk.Sitting.Room == nil:
		note("no-room", phrase.New("The temperatures were read without that of the room."), phrase.New("Write the sitting's room; a rise is taken from it."))
		return nil
	case !tk.Total.Valid():
		note("no-power", phrase.New("The temperatures stand beside no total: %s was not read.", tk.Missing), phrase.New("Read the missing rails, or bound them."))
		return nil
	}
	for _, name := range names {
		r, err := c.reading(b, on, tk, name, read[name])
		if err != nil {
			return fmt.Errorf("%s, %s: %w", on, name, err)
		}
		if !(r.Rise.Estimate > 0) {
			note("no-rise", phrase.New("%s reads %.1f °C, no warmer than the room.", name, r.Temperature.Estimate), phrase.New("Look at the probe, and at where the room was read."))
			continue
		}
		p := b.point(name)
		p.Readings = append(p.Readings, r)
	}
	return nil
}

// during gathers what was read of each temperature in a state of a sitting.
func during(x *study.Sitting, state string) (names []string, read map[string]*series) {
	read = map[string]*series{}
	for _, step := range x.Steps {
		if step.State != state {
			if step.State != "" { // a zero is no other state
				for _, s := range read {
					s.left = append(s.left, len(s.entries))
				}
			}
			continue
		}
		for _, t := range step.Temperatures {
			if read[t.Name] == nil {
				read[t.Name] = &series{}
				names = append(names, t.Name)
			}
			read[t.Name].at = append(read[t.Name].at, step.At)
			read[t.Name].entries = append(read[t.Name].entries, t.Reading)
		}
	}
	return names, read
}

// reading makes a quantity of what was read of one temperature.
func (c *Cooling) reading(b *Board, on study.StateOn, tk *tally.Taken, name string, s *series) (*Reading, error) {
	r := &Reading{On: on, Sitting: tk.Sitting, Name: name, Shown: len(s.entries), Room: c.bench.room(tk.Sitting)}
	r.LeftOut = slices.Contains(c.opt.LeaveOut, on)
	last := s.entries[len(s.entries)-1]
	in, rng := c.bench.thermometer(tk.Sitting, last)
	room := r.Room.Estimate()
	what := on.String() + ", " + name
	shown := c.settled(r, what, s, b, rng)
	r.accuracy = c.bench.accuracy(in, rng, shown.Estimate(), room)
	if r.accuracy.Valid() {
		shown = shown.Sub(r.accuracy)
	} else {
		b.noteOnce(sensing.Finding{Code: "thermometer-unknown", Severity: sensing.Doubtful, Board: b.Name,
			Text: phrase.New("What read %s has no accuracy line; its error is in no interval.", name), Do: phrase.New("Name the thermometer and give its line, as in spec: ±1.0 °C.")})
	}
	for _, x := range b.How.Infrared {
		if x.Name == name {
			shown = c.bench.corrected(b.Name, x, shown, r.Room)
		}
	}
	g := c.Tally.Graph
	var err error
	if r.Temperature, err = figure(g, shown, c.Level); err != nil {
		return nil, err
	}
	if r.Rise, err = figure(g, shown.Sub(r.Room), c.Level); err != nil {
		return nil, err
	}
	if r.Power, err = figure(g, tk.Total, c.Level); err != nil {
		return nil, err
	}
	r.Resistance, err = figure(g, r.Rise.Value.Div(tk.Total), c.Level)
	return r, err
}

// settled is what was shown at the end: what a series tends to, or the mean of
// what was read. A state that was come back to settles anew each time, and the
// mean is taken over the times.
func (c *Cooling) settled(r *Reading, what string, s *series, b *Board, rng *study.Range) gum.Value {
	var vs []gum.Value
	var early error
	for _, x := range s.stretches() {
		v, err := c.stretch(r, what, x, b, rng)
		if err != nil {
			early = err
			continue
		}
		vs = append(vs, v)
	}
	if len(vs) > 0 && r.Settling == nil { // single readings say it, and no series
		r.Seconds, r.Celsius = nil, nil
	}
	switch len(vs) {
	case 0:
		// The last reading is a lower bound, and is used as no more than itself.
		r.Unsettled = early
		return c.bench.displayed(what, s.entries[len(s.entries)-1].Entry, rng)
	case 1:
		return vs[0]
	}
	return gum.Mean(vs...)
}

// stretch is what was shown at the end of one stretch of readings, or why that
// cannot be said.
func (c *Cooling) stretch(r *Reading, what string, s *series, b *Board, rng *study.Range) (gum.Value, error) {
	room := r.Room.Estimate()
	if seconds, ok := s.seconds(); ok {
		var celsius []float64
		for _, e := range s.entries {
			celsius = append(celsius, e.Value())
		}
		x, err := Settle(seconds, celsius, room, b.How.Air)
		if err == nil || r.Settling == nil { // one that says nothing does not hide one that does
			r.Seconds, r.Celsius, r.Settling = seconds, celsius, x
		}
		if err != nil {
			return gum.Value{}, err
		}
		return c.Tally.Graph.Input(gum.Input{Name: what + ": settled", Dist: gum.Normal{Mean: x.Final, U: x.U}, DOF: x.DOF, Tags: tagged(CauseSettling)}), nil
	}
	first, last := s.entries[0].Value(), s.entries[len(s.entries)-1].Value()
	if d := last - first; math.Abs(d) > math.Max(stillMoving, settledWithin*math.Abs(last-room)) {
		return gum.Value{}, &TooEarlyError{Seen: math.NaN(), Cause: fmt.Errorf("%d readings, from %.1f to %.1f °C: where they end takes %d or more with their times", len(s.entries), first, last, leastSeries)}
	}
	var vs []gum.Value
	for _, e := range s.entries {
		vs = append(vs, c.bench.displayed(what, e.Entry, rng))
	}
	if len(vs) == 1 {
		return vs[0], nil
	}
	return gum.Mean(vs...), nil
}

// stillMoving is the change in K, between the first and the last of a few
// readings, from which on they are not taken as readings of one temperature.
const stillMoving = 0.5

// seconds are the times of a series; ok is false where there are too few.
func (s *series) seconds() ([]float64, bool) {
	if len(s.at) < leastSeries {
		return nil, false
	}
	var out []float64
	for _, t := range s.at {
		if t.IsZero() {
			return nil, false
		}
		out = append(out, t.Sub(s.at[0]).Seconds())
	}
	return out, out[len(out)-1] > 0 && !math.IsNaN(out[0])
}
