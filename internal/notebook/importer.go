package notebook

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Import takes a whole study into the notebook, all or nothing. What Study then
// returns says the same in every field; where it would not, the study is
// refused. Two imports of one study are two studies, unless they share
// a key.
func (nb *Notebook) Import(ctx context.Context, s *study.Study, o Origin) (p *Plan, err error) {
	const op = "import the study"
	err = nb.write(ctx, op, func(t *tx) error {
		if p, err = sentPlan(t, o.Key); p != nil || err != nil {
			return err
		}
		if p, err = t.newStudy(s, o); err != nil {
			return err
		}
		o.Key = ""
		if err := t.importTicks(p.StudyID, s.Done, o); err != nil {
			return err
		}
		for i, x := range s.Sittings {
			if err := t.importSitting(p.StudyID, x, o); err != nil {
				return invalid(op, "sitting %d: %w", i+1, err)
			}
		}
		return t.same(op, p.StudyID, s)
	})
	if err != nil {
		return nil, err
	}
	return p, nil
}

// same refuses an import that lost something.
func (t *tx) same(op string, id int64, s *study.Study) error {
	var log studyLog
	if err := log.readOn(t, id); err != nil {
		return err
	}
	r, err := recordNow(t, id, log.inOrder())
	if err != nil {
		return err
	}
	want := *s
	want.Sittings = slices.Clone(s.Sittings)
	for i, x := range want.Sittings {
		if !x.Named { // its name is made anew
			y := *x
			want.Sittings[i] = &y
		}
	}
	want.NameSittings()
	if !alike(&want, r.Study) {
		return invalid(op, "something in it has no place in a notebook; check the study first")
	}
	return nil
}

func (t *tx) importSitting(id int64, x *study.Sitting, o Origin) error {
	h := Head{Board: x.Board, On: x.On.UTC(), Clock: x.Clock, VoltageMeter: x.VoltageMeter, CurrentMeter: x.CurrentMeter,
		Thermometer: x.Thermometer, By: x.By, Note: x.Note}
	if x.Named {
		h.Name = x.Name
	}
	if x.Room != nil {
		h.Room = typed(x.Room)
	}
	sitting := Sitting{Row: Row{Origin: o}, Study: id, Head: h}
	ack, err := t.keepSitting("import the study", &sitting)
	if err != nil {
		return err
	}
	for i, st := range x.Steps {
		if err := t.importStep(id, ack.First, st, o); err != nil {
			return fmt.Errorf("step %d: %w", i+1, err)
		}
	}
	return nil
}

func (t *tx) importStep(id, sitting int64, st *study.Step, o Origin) error {
	c, _ := chainOf(AnEntry)
	var step int64
	seen := make(map[Content]bool)
	for _, content := range contentsOf(st) {
		content.Step = step
		content = content.normal()
		if err := content.fault(); err != nil {
			return err
		}
		slot := Content{Kind: content.Kind, Rail: content.Rail, Tap: content.Tap, Instrument: content.Instrument, Range: content.Range,
			Name: content.Name, Back: content.Back}
		if seen[slot] {
			return errors.New(content.about() + " comes twice")
		}
		seen[slot] = true
		e := Entry{Row: Row{Origin: o}, Study: id, Sitting: sitting, Content: content}
		if err := c.insert(t, &e.Row, e.values()...); err != nil {
			return err
		}
		if e.Kind == Step {
			step = e.First
		}
	}
	return nil
}

// contentsOf takes a step apart into what entries say, the step itself first.
func contentsOf(st *study.Step) []Content {
	out := []Content{{Kind: Step, State: st.State, At: st.At}}
	reading := func(c Content, r *study.Reading) {
		c.Text, c.Unit, c.Meter, c.MeterRange, c.From = typed(&r.Entry), r.Unit, r.Meter, r.Range, r.From
		out = append(out, c)
	}
	for _, z := range st.Zeros {
		reading(Content{Kind: Zero, Instrument: z.Instrument, Range: z.Range, Rail: z.Rail, Tap: z.Tap}, &z.Reading)
	}
	for _, r := range st.Rails {
		for _, t := range r.Current {
			c := Content{Kind: Current, Rail: r.Rail, Tap: t.Tap}
			if t.WithVoltage != nil {
				c.WithVoltage = typed(t.WithVoltage)
			}
			reading(c, &t.Reading)
			if t.Back != nil {
				reading(Content{Kind: Current, Rail: r.Rail, Tap: t.Tap, Back: true}, t.Back)
			}
		}
		if r.Voltage != nil {
			reading(Content{Kind: Voltage, Rail: r.Rail, FeedSide: r.FeedSide}, r.Voltage)
		}
		if r.Note != "" {
			out = append(out, Content{Kind: Note, Rail: r.Rail, Text: r.Note})
		}
	}
	for _, n := range st.Temperatures {
		reading(Content{Kind: Temperature, Name: n.Name}, &n.Reading)
	}
	if st.Throughput != nil {
		out = append(out, Content{Kind: Throughput, Text: typed(st.Throughput), Unit: st.Throughput.Unit})
	}
	if st.Note != "" {
		out = append(out, Content{Kind: Note, Text: st.Note})
	}
	return out
}

// typed is a quantity as it was typed where that text says the same in a study
// file, else written anew.
func typed(e *quantity.Entry) string {
	if e.Text != "" {
		if again, err := quantity.Parse(e.Text, e.Unit, ""); err == nil && reflect.DeepEqual(again, *e) {
			return e.Text
		}
	}
	return e.String()
}
