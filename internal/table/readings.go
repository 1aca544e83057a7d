package table

import (
	"fmt"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// Reading is one thing that was read, and where in the record it stands.
type Reading struct {
	Sitting *study.Sitting
	Step    int // of the sitting, from 1; 0: of the sitting itself
	State   string
	At      time.Time
	// What was read: room, zero, current, voltage, temperature, throughput.
	What string
	Rail string
	Tap  string
	// Point is the name of a temperature, Instrument and Range those of a zero
	// that holds for a range of an instrument.
	Point, Instrument, Range string
	Back, FeedSide           bool
	Entry                    *quantity.Entry // in the record itself
	Meter, MeterRange        string          // where the reading names them
}

// Place says which reading it is, in words that no other reading of the study
// has: "Otter 2026-03-14, step 3, one-busy: current of core".
func (r Reading) Place() string {
	var b strings.Builder
	b.WriteString(r.Sitting.Name)
	if r.Step > 0 {
		fmt.Fprintf(&b, ", step %d", r.Step)
	}
	if r.State != "" {
		b.WriteString(", " + r.State)
	}
	b.WriteString(": " + r.What)
	of := strings.TrimSpace(strings.Join([]string{r.Rail, r.Tap, r.Point, r.Instrument, r.Range}, " "))
	if of != "" {
		b.WriteString(" of " + strings.Join(strings.Fields(of), " "))
	}
	if r.Back {
		b.WriteString(", threaded back")
	}
	if r.FeedSide {
		b.WriteString(", before the loop")
	}
	return b.String()
}

// Written is the reading as it stands in the study's text.
func (r Reading) Written() string { return written(*r.Entry) }

func written(e quantity.Entry) string {
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}

// Readings lists everything that was read in a study, in the order of the
// record.
func Readings(s *study.Study) []Reading {
	var out []Reading
	for _, sit := range s.Sittings {
		if sit.Room != nil {
			out = append(out, Reading{Sitting: sit, What: "room", Entry: sit.Room})
		}
		for i, st := range sit.Steps {
			out = append(out, readingsOf(sit, st, i+1)...)
		}
	}
	return out
}

func readingsOf(sit *study.Sitting, st *study.Step, n int) (out []Reading) {
	at := Reading{Sitting: sit, Step: n, State: st.State, At: st.At}
	add := func(r Reading, x *study.Reading) {
		r.Entry, r.Meter, r.MeterRange = &x.Entry, x.Meter, x.Range
		out = append(out, r)
	}
	for _, z := range st.Zeros {
		r := at
		r.What, r.Instrument, r.Range, r.Rail, r.Tap = "zero", z.Instrument, z.Range, z.Rail, z.Tap
		add(r, &z.Reading)
	}
	for _, rr := range st.Rails {
		r := at
		r.What, r.Rail = "current", rr.Rail
		for _, c := range rr.Current {
			r.Tap = c.Tap
			add(r, &c.Reading)
			if c.Back != nil {
				back := r
				back.Back = true
				add(back, c.Back)
			}
		}
		if rr.Voltage != nil {
			r.What, r.Tap, r.FeedSide = "voltage", "", rr.FeedSide
			add(r, rr.Voltage)
		}
	}
	for _, x := range st.Temperatures {
		r := at
		r.What, r.Point = "temperature", x.Name
		add(r, &x.Reading)
	}
	if st.Throughput != nil {
		r := at
		r.What, r.Entry = "throughput", st.Throughput
		out = append(out, r)
	}
	return out
}

// readings has one row for everything that was read.
func readings(t *tally.Tally) *Table { return ReadingsTable(t.Study) }

// ReadingsTable sets everything that was read in a study. Value, least and
// most are in the unit of the row.
func ReadingsTable(s *study.Study) *Table {
	out := &Table{Name: "readings", Title: "Everything that was read", Columns: []Column{
		{Key: "reading", Title: "reading", ForPrograms: true}, {Key: "sitting", Title: "sitting"}, {Key: "board", Title: "board"}, {Key: "day", Title: "day", ForPrograms: true},
		{Key: "step", Title: "step", Kind: Whole}, {Key: "time", Title: "time"}, {Key: "state", Title: "state"}, {Key: "what", Title: "what"},
		{Key: "rail", Title: "rail"}, {Key: "tap", Title: "tap"}, {Key: "point", Title: "point"},
		{Key: "instrument", Title: "instrument"}, {Key: "range", Title: "range"},
		{Key: "back", Title: "threaded back", Kind: Yes}, {Key: "feed_side", Title: "before the loop", Kind: Yes},
		{Key: "written", Title: "as written"}, {Key: "unit", Title: "unit", ForPrograms: true}, {Key: "form", Title: "form", ForPrograms: true},
		{Key: "count", Title: "count", Kind: Whole, ForPrograms: true}, {Key: "value", Title: "value", Kind: Number, ForPrograms: true},
		{Key: "least", Title: "least", Kind: Number, ForPrograms: true}, {Key: "most", Title: "most", Kind: Number, ForPrograms: true},
		{Key: "meter", Title: "meter"}, {Key: "meter_range", Title: "meter's range"},
	}}
	for _, r := range Readings(s) {
		step, at := nothing(), nothing()
		if r.Step > 0 {
			step = whole(r.Step)
		}
		if !r.At.IsZero() {
			at = text(r.At.Format("2006-01-02T15:04:05"))
		}
		e := r.Entry
		lo, hi := e.Value(), e.Value()
		for _, v := range e.Values {
			lo, hi = min(lo, v), max(hi, v)
		}
		out.add(text(r.Place()), text(r.Sitting.Name), text(r.Sitting.Board), text(r.Sitting.On.Format("2006-01-02")), step, at,
			text(r.State), text(r.What), text(r.Rail), text(r.Tap), text(r.Point), text(r.Instrument), text(r.Range),
			yes(r.Back), yes(r.FeedSide), text(r.Written()), text(e.Unit.Symbol()), text(e.Kind.String()), whole(len(e.Values)),
			number(e.Value()), number(lo), number(hi), text(r.Meter), text(r.MeterRange))
	}
	return out
}
