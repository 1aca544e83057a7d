package web

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
)

// visit is one step of a sitting: one that was begun, or one still to come.
type visit struct {
	// Key names the step in addresses and to the notebook. That of a step to
	// come is made from what it is, so that two devices that open the same step
	// open one.
	Key   string
	Step  int64 // first row; 0 while it is still to come
	State string
	Title string
	Nth   int // how often the state was visited, or zeros were taken, with this one
	At    time.Time
	Slots []*wanted

	plan *plan.Stop // what the plan says of it; nil: nothing
}

// wanted is one thing to be read at a visit.
type wanted struct {
	visit *visit
	Kind  notebook.Kind

	Rail, Tap         string
	Instrument, Range string // of a zero
	Name              string // of a temperature
	Back              bool
	Aside             bool // not asked for in turn, only when somebody wants it

	Entry *notebook.Entry // what holds now; nil: nothing yet
}

// ID names the slot in addresses.
func (s *wanted) ID() string {
	back := ""
	if s.Back {
		back = "back"
	}
	parts := []string{s.visit.Key, string(s.Kind), s.Rail + s.Instrument + s.Name, s.Tap + s.Range, back}
	for i, p := range parts {
		parts[i] = url.QueryEscape(p)
	}
	return strings.TrimRight(strings.Join(parts, "/"), "/")
}

// matches tells whether an entry fills the slot, whose visit it is of.
func (s *wanted) matches(c *notebook.Content) bool {
	return s.Kind == c.Kind && s.Rail == c.Rail && s.Tap == c.Tap && s.Instrument == c.Instrument &&
		s.Range == c.Range && s.Name == c.Name && s.Back == c.Back
}

// Done counts what was read of what is asked for.
func (v *visit) Done() (n int) {
	for _, s := range v.Slots {
		if s.Entry != nil && s.Kind != notebook.Note {
			n++
		}
	}
	return n
}

// Asked counts what the visit asks for, and what was read besides.
func (v *visit) Asked() (n int) {
	for _, s := range v.Slots {
		if s.Kind != notebook.Note && (!s.Aside || s.Entry != nil) {
			n++
		}
	}
	return n
}

// statesPerZero is how many states are read before a fresh zero is proposed
// (common practice, no source: a zero, two states, a zero).
const statesPerZero = 2

// order is the order of work of one sitting.
type order struct {
	record  *notebook.Record
	sitting *study.Sitting
	id      int64 // first row of the sitting
	row     *notebook.Sitting
	board   *study.Board
	visits  []*visit
	// entries of the sitting that hold now, by the first row of their step
	entries map[int64][]*notebook.Entry
	// keys of the steps that were begun, by first row
	keys map[int64]string

	stops []*stop // of the plan, in order; nil: nobody chose an order of work
}

// newOrder lists the visits of a sitting: those that were begun, in the order
// in which they were, then the states still to be read, with zeros between
// them. also is the key of a further visit that somebody asked for; may be
// empty.
func newOrder(rec *notebook.Record, id int64, also string) (*order, error) {
	o := &order{record: rec, id: id}
	for i := range rec.Sittings {
		if rec.Sittings[i].First == id {
			o.row, o.sitting = &rec.Sittings[i], rec.Study.Sittings[i]
		}
	}
	if o.row == nil {
		return nil, notFound("this study has no such sitting")
	}
	if o.board = rec.Study.Board(o.row.Board); o.board == nil {
		o.board = &study.Board{Name: o.row.Board}
	}
	o.entries, o.keys = map[int64][]*notebook.Entry{}, map[int64]string{}
	for i := range rec.Entries {
		switch e := &rec.Entries[i]; {
		case e.Sitting != id:
		case e.Kind == notebook.Step:
			o.keys[e.First] = e.Key
		default:
			o.entries[e.Step] = append(o.entries[e.Step], e)
		}
	}
	o.stops = stopsOf(rec.Study, o.board.Name, o.sitting.Name)
	count := map[string]int{}
	since := 0 // states since the last zero
	for _, st := range o.sitting.Steps {
		count[st.State]++
		o.begun(st, count[st.State])
		if st.State != "" {
			since++
		}
		if len(st.Zeros) > 0 {
			since = 0
		}
	}
	if state, n, ok := parseVisitKey(also, id); ok && n == count[state]+1 && (state == "" || rec.Study.State(state) != nil) {
		count[state]++
		o.coming(state, n)
		since = 0
	}
	if o.stops != nil {
		o.planned()
	} else {
		o.unplanned(count, since)
	}
	return o, nil
}

// unplanned adds what is still to be done where nobody chose an order of work: the
// states as listed that were not read yet, with zeros between them.
func (o *order) unplanned(count map[string]int, since int) {
	zeros := len(o.zeroSlots(&visit{})) > 0
	if zeros && count[""] == 0 && len(o.visits) == 0 {
		count[""]++
		o.coming("", 1)
	}
	for _, st := range o.record.Study.States {
		if count[st.Name] > 0 {
			continue
		}
		if zeros && since >= statesPerZero {
			count[""]++
			o.coming("", count[""])
			since = 0
		}
		o.coming(st.Name, 1)
		since++
	}
	if zeros && since > 0 {
		count[""]++
		o.coming("", count[""])
	}
}

// visitKey names the n-th visit of a state in a sitting, or the n-th zeros.
func visitKey(sitting int64, state string, n int) string {
	if state == "" {
		return fmt.Sprintf("step-%d-zeros-%d", sitting, n)
	}
	return fmt.Sprintf("step-%d-state-%d-%s", sitting, n, state)
}

func parseVisitKey(key string, sitting int64) (state string, n int, ok bool) {
	rest, ok := strings.CutPrefix(key, fmt.Sprintf("step-%d-", sitting))
	if !ok {
		return "", 0, false
	}
	if number, found := strings.CutPrefix(rest, "zeros-"); found {
		n, err := strconv.Atoi(number)
		return "", n, err == nil && n > 0
	}
	rest, ok = strings.CutPrefix(rest, "state-")
	number, state, found := strings.Cut(rest, "-")
	n, err := strconv.Atoi(number)
	return state, n, ok && found && state != "" && err == nil && n > 0
}

// coming adds a visit that was not begun.
func (o *order) coming(state string, n int) {
	o.add(&visit{Key: visitKey(o.id, state, n), State: state, Nth: n, plan: o.heeding(state)})
}

// begun adds a visit from the record.
func (o *order) begun(st *study.Step, n int) {
	v := &visit{Step: o.record.StepOf[st], State: st.State, Nth: n, At: st.At, plan: o.heeding(st.State)}
	v.Key = "n" + strconv.FormatInt(v.Step, 10)
	if key := o.keys[v.Step]; strings.HasPrefix(key, "step-") {
		v.Key = key
	}
	o.add(v)
}

func (o *order) add(v *visit) {
	v.Title = v.State
	if v.State == "" {
		v.Title = "Zeros"
	}
	if v.Nth > 1 {
		v.Title += ", " + ordinal(v.Nth)
	}
	if v.State == "" {
		v.Slots = append(o.zeroSlots(v), o.noteSlots(v)...)
	} else {
		v.Slots = o.stateSlots(v)
	}
	v.heed()
	if v.Step != 0 {
		o.fill(v)
	}
	o.visits = append(o.visits, v)
}

func ordinal(n int) string {
	switch {
	case n%10 == 1 && n%100 != 11:
		return fmt.Sprintf("%dst time", n)
	case n%10 == 2 && n%100 != 12:
		return fmt.Sprintf("%dnd time", n)
	case n%10 == 3 && n%100 != 13:
		return fmt.Sprintf("%drd time", n)
	}
	return fmt.Sprintf("%dth time", n)
}

// fill puts entries into the slots of a visit; one that fits no slot gets a
// slot of its own.
func (o *order) fill(v *visit) {
	for _, e := range o.entries[v.Step] {
		var into *wanted
		for _, s := range v.Slots {
			if s.matches(&e.Content) {
				into = s
			}
		}
		if into == nil {
			into = &wanted{visit: v, Kind: e.Kind, Rail: e.Rail, Tap: e.Tap, Instrument: e.Instrument, Range: e.Range, Name: e.Name, Back: e.Back, Aside: true}
			v.Slots = append(v.Slots, into)
		}
		if !e.Withdrawn {
			into.Entry = e
		}
	}
}

// find returns the slot of that name, or nil. A temperature that nobody read
// yet gets its slot when it is asked for.
func (o *order) find(id string) *wanted {
	parts := strings.Split(id, "/")
	if len(parts) == 3 && parts[1] == string(notebook.Temperature) {
		name := strings.Join(strings.Fields(unescape(parts[2])), " ")
		if v := o.visitOf(unescape(parts[0])); v != nil && v.State != "" && name != "" && len(name) <= 100 {
			for _, s := range v.Slots {
				if s.Kind == notebook.Temperature && s.Name == name {
					return s
				}
			}
			s := &wanted{visit: v, Kind: notebook.Temperature, Name: name, Aside: true}
			v.Slots = append(v.Slots, s)
			return s
		}
	}
	for _, v := range o.visits {
		for _, s := range v.Slots {
			if s.ID() == id {
				return s
			}
		}
	}
	return nil
}

// visitOf returns the visit of that key, or nil.
func (o *order) visitOf(key string) *visit {
	for _, v := range o.visits {
		if v.Key == key {
			return v
		}
	}
	return nil
}

// open lists the slots that are still to be read, in order.
func (v *visit) open() []*wanted {
	var out []*wanted
	for _, s := range v.Slots {
		if s.Entry == nil && !s.Aside {
			out = append(out, s)
		}
	}
	return out
}

// next is what comes after a slot: the rest of its visit, what was skipped in
// it, the visits after it, and at last what was left out before. Skipping goes
// on without coming back to the same visit. Nil: everything was read.
func (o *order) next(after *wanted, skip bool) *wanted {
	if after == nil {
		return o.first()
	}
	behind, passed := false, false
	var skipped *wanted
	for _, s := range after.visit.Slots {
		if s == after {
			behind = true
			continue
		}
		if s.Entry != nil || s.Aside {
			continue
		}
		if behind {
			return s
		}
		if skipped == nil {
			skipped = s
		}
	}
	if skipped != nil && !skip {
		return skipped
	}
	for _, v := range o.visits {
		if v == after.visit {
			passed = true
			continue
		}
		if open := v.open(); passed && len(open) > 0 {
			return open[0]
		}
	}
	if s := o.first(); s != after {
		return s
	}
	return nil
}

// first is where work goes on when a sitting is opened: behind the last thing
// that was read, so that a rail left out long ago does not come up first.
func (o *order) first() *wanted {
	var last *visit
	for _, v := range o.visits {
		if v.Done() > 0 {
			last = v
		}
	}
	passed := last == nil
	for _, v := range o.visits {
		passed = passed || v == last
		if open := v.open(); passed && len(open) > 0 {
			return open[0]
		}
	}
	for _, v := range o.visits {
		if open := v.open(); len(open) > 0 {
			return open[0]
		}
	}
	return nil
}
