package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// deskView is one thing to be read as the desk shows it: the template sets the
// first, the script the ones that follow, from the same fields.
type deskView struct {
	ID         string     `json:"id"`
	Visit      string     `json:"visit"`
	VisitTitle string     `json:"visitTitle"`
	State      string     `json:"state"`
	Settings   string     `json:"settings"` // levels of the state: "drives 1 · load copy"
	Todo       string     `json:"todo"`     // by the plan, before anything is read here
	Trial      string     `json:"trial"`    // what the reading is a trial of, and what must come out
	Kind       string     `json:"kind"`
	Title      string     `json:"title"`
	What       string     `json:"what"`
	How        string     `json:"how"`
	Rail       string     `json:"rail"`
	Tap        string     `json:"tap"`
	Instrument string     `json:"instrument"`
	Range      string     `json:"range"`
	Name       string     `json:"name"`
	Back       bool       `json:"back"`
	Unit       string     `json:"unit"`
	Bare       string     `json:"bare"`
	Limit      float64    `json:"limit"` // figures beyond it are in Milli
	Milli      string     `json:"milli"`
	Meter      string     `json:"meter"`  // "desk meter"
	Expect     string     `json:"expect"` // "500 mV"
	Ranges     []string   `json:"ranges"`
	Feed       bool       `json:"feed"` // may be read before the loop
	Pins       []*pinView `json:"pins"`

	Entry    int64  `json:"entry"` // what holds now; 0: nothing yet
	Text     string `json:"text"`
	MeterSet string `json:"meterSet"` // range the entry named
	FeedSide bool   `json:"feedSide"`
	By       string `json:"by"`
	Aside    bool   `json:"aside"`
	Last     string `json:"last"` // what was read there last
	Live     bool   `json:"live"` // the meter's digits can be shown
}

// desk sets a slot out for the page.
func (o *order) desk(s *wanted, pins *pinned) *deskView {
	v := s.visit
	d := &deskView{
		ID: s.ID(), Visit: v.Key, VisitTitle: v.Title, State: v.State, Settings: o.settings(v.State), Todo: v.todo(), Trial: o.trialText(s),
		Kind: string(s.Kind), Title: s.title(), What: s.what(), How: o.how(s),
		Rail: s.Rail, Tap: s.Tap, Instrument: s.Instrument, Range: s.Range, Name: s.Name, Back: s.Back,
		Unit: o.unit(s).Symbol(), Bare: o.bare(s), Aside: s.Aside, Ranges: []string{},
		Feed: s.Kind == notebook.Voltage, Pins: pins.of(o.board.Name, s),
	}
	d.Limit, d.Milli = o.reach(s)
	if in, fixed := o.meter(s); in != nil {
		d.Meter = in.Name
		// Before a current was ever read there nobody knows the range.
		if r := o.expected(s); r != nil && (s.Kind != notebook.Current || fixed != nil || o.last(s) != nil) {
			d.Expect = r.Name
		}
		if fixed == nil {
			for _, r := range ranges(in, o.unit(s)) {
				d.Ranges = append(d.Ranges, r.Name)
			}
		}
	}
	if e := s.Entry; e != nil {
		d.Entry, d.Text, d.MeterSet, d.FeedSide, d.By = e.ID, entered(e), e.MeterRange, e.FeedSide, e.Device
	}
	if e := o.last(s); e != nil && s.Kind == notebook.Current {
		d.Last = entryText(e)
	}
	return d
}

// settings says how a state is set.
func (o *order) settings(state string) string {
	st := o.record.Study.State(state)
	if st == nil {
		return ""
	}
	var parts []string
	for _, l := range st.Levels {
		parts = append(parts, l.Factor+" "+l.Value)
	}
	return strings.Join(parts, " · ")
}

// visitView is one step in the strip of steps.
type visitView struct {
	Title, Settings string
	At              string // address of what comes next in it
	Done, Asked     int
	Key             string
	Step            int64
	State           string
	Here, Full      bool
	Asides          []asideView
	Photos          []string
}

// asideView is something that is only sometimes read.
type asideView struct{ Label, At string }

// benchView is everything that the bench page shows.
type benchView struct {
	Study, Sitting int64
	Head           *notebook.Sitting
	SittingName    string
	Order          string // JSON of every deskView
	Desk           *deskView
	Echo           *echo
	Key            string
	Take           string // names the readings behind what the field holds; empty: none
	Record         *recordView
	Visits         []visitView
	Here           *visitView
	Prev, Skip     string
	Zero, Repeat   string // addresses of further visits
	Lanes          *benchPicture
	Total          string
	TotalOf        string
	Totals         []namedText
	Log            []logLine
	Last           int64 // entry that undo takes back; 0: none
	LastAt         string
	Redo           int64
	Clock          clockView
	Trouble        []study.Fault
	Finished       bool
	States         int // how many the plan names
	Trials         []trialLine
	Work           string // address of the order of work
}

type namedText struct{ Name, Text string }

// clockView is what the page's clock reminds of; times are on the wall.
type clockView struct {
	Zero  string // when the last zero was taken, "2006-01-02T15:04:05"; empty: none
	Stale int    // seconds after which a zero is questioned
	Step  string // when the state was set
	// Settle is how long, in seconds, a state is usually given to settle.
	Settle int
	Text   string
}

const wallForm = "2006-01-02T15:04:05"

// show is the bench page of one sitting.
func (b *bench) show(w http.ResponseWriter, r *http.Request) error {
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	here := o.find(r.URL.Query().Get("at"))
	if name := strings.Join(strings.Fields(r.URL.Query().Get("temperature")), " "); name != "" {
		if v := o.visitOf(r.URL.Query().Get("of")); v != nil {
			here = o.find((&wanted{visit: v, Kind: notebook.Temperature, Name: name}).ID())
		}
	}
	if here == nil {
		here = o.first()
	}
	return b.page(w, r, study, o, here, nil, nil)
}

// page renders the bench at a slot. typed holds a form that was not accepted.
func (b *bench) page(w http.ResponseWriter, r *http.Request, id int64, o *order, here *wanted, typed url.Values, wrong *echo) error {
	v, err := b.view(r, id, o, here)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if typed != nil && v.Desk != nil {
		v.Desk.Text, v.Desk.MeterSet = typed.Get("text"), typed.Get("meterrange")
		v.Take = typed.Get("take")
		v.Echo = wrong
		if wrong != nil && wrong.Error != "" {
			status = http.StatusUnprocessableEntity
		}
	}
	title := "Bench"
	if v.Desk != nil {
		title = v.Desk.Title + " " + v.Desk.What + ", " + v.Desk.VisitTitle
	}
	return b.s.render(w, r, "bench", page{Status: status, Title: title, Study: openedFrom(id, o.record), Tab: "bench", Live: true, Class: "bench",
		Styles: []string{"bench.css", "plan-check.css"}, Scripts: []string{"queue.js", "clock.js", "bench.js", "live.js"}, Data: v})
}

func (b *bench) view(r *http.Request, id int64, o *order, here *wanted) (*benchView, error) {
	pins, err := b.s.pinnedOf(r.Context(), id)
	if err != nil {
		return nil, err
	}
	v := &benchView{Study: id, Sitting: o.id, Head: o.row, SittingName: o.sitting.Name, Finished: here == nil, States: len(o.record.Study.States)}
	if v.Key, err = b.s.newKey(); err != nil {
		return nil, err
	}
	v.Record = b.s.recordViewOf(id, o.id, o.record)
	_, settings, err := b.s.live.now()
	if err != nil {
		settings = &acquire.Settings{} // the page Meters says what is wrong with them
	}
	live := func(d *deskView) bool { return d.Meter != "" && settings.Meter(d.Meter) != nil }
	var all []*deskView
	for _, x := range o.visits {
		for _, s := range x.Slots {
			d := o.desk(s, pins)
			d.Live = live(d)
			all = append(all, d)
		}
	}
	body, err := json.Marshal(all)
	if err != nil {
		return nil, err
	}
	v.Order = string(body)
	if here != nil {
		v.Desk = o.desk(here, pins)
		v.Desk.Live = live(v.Desk)
		v.Prev, v.Skip = o.neighbours(here)
	}
	v.Visits = o.visitViews(here)
	for i := range v.Visits {
		if v.Visits[i].Here {
			v.Here = &v.Visits[i]
			for j := range pins.photos {
				if f := &pins.photos[j]; f.Step != 0 && f.Step == v.Here.Step {
					v.Here.Photos = append(v.Here.Photos, photoPath(id, f))
				}
			}
		}
	}
	v.Zero = o.further("")
	if here != nil && here.visit.State != "" && here.visit.Step != 0 {
		v.Repeat = o.further(here.visit.State)
	}
	v.Clock = o.clock(here)
	v.Work = workAt(id, o.board.Name)
	if v.Trials, err = b.trialLines(r.Context(), id, o); err != nil {
		return nil, err
	}
	if err := o.results(v, here); err != nil {
		return nil, err
	}
	return v, b.log(r, o, v)
}

// neighbours are the slots before and after one, in order, whether read or not.
func (o *order) neighbours(here *wanted) (prev, next string) {
	var before *wanted
	found := false
	for _, v := range o.visits {
		for _, s := range v.Slots {
			switch {
			case s == here:
				found = true
				if before != nil {
					prev = before.ID()
				}
			case s.Aside && s.Entry == nil:
			case !found:
				before = s
			}
		}
	}
	if s := o.next(here, true); s != nil {
		next = s.ID()
	}
	return prev, next
}

// further is the address of another visit of a state, or of another zero.
func (o *order) further(state string) string {
	n := 1
	for _, v := range o.visits {
		if v.State != state {
			continue
		}
		if v.Step == 0 && len(v.Slots) > 0 {
			return v.Slots[0].ID()
		}
		n++
	}
	x := &visit{Key: visitKey(o.id, state, n), State: state}
	slots := o.stateSlots(x)
	if state == "" {
		slots = o.zeroSlots(x)
	}
	if len(slots) == 0 {
		return ""
	}
	return slots[0].ID()
}

func (o *order) visitViews(here *wanted) []visitView {
	var out []visitView
	for _, v := range o.visits {
		x := visitView{Title: v.Title, Key: v.Key, Step: v.Step, State: v.State, Settings: o.settings(v.State), Done: v.Done(), Asked: v.Asked(), Here: here != nil && here.visit == v}
		x.Full = x.Done >= x.Asked
		if open := v.open(); len(open) > 0 {
			x.At = open[0].ID()
		} else if len(v.Slots) > 0 {
			x.At = v.Slots[0].ID()
		}
		for _, s := range v.Slots {
			if s.Aside && s.Entry == nil {
				label := s.title()
				if w := s.what(); w != "" {
					label += ", " + w
				}
				x.Asides = append(x.Asides, asideView{label, s.ID()})
			}
		}
		out = append(out, x)
	}
	return out
}

// clock tells how old the zero is, and when the state was set.
func (o *order) clock(here *wanted) clockView {
	c := clockView{Stale: int(study.DefaultStaleZero), Settle: int(plan.DefaultScheme().Times.Settle.Seconds())}
	if z := o.record.Study.StaleZero; z != nil {
		c.Stale = int(math.Round(z.Value()))
	}
	for _, st := range o.sitting.Steps {
		if len(st.Zeros) > 0 && !st.At.IsZero() {
			c.Zero = st.At.Format(wallForm)
		}
	}
	if here != nil && !here.visit.At.IsZero() && here.visit.State != "" {
		c.Step = here.visit.At.Format(wallForm)
	}
	switch {
	case c.Zero == "" && len(o.zeroSlots(&visit{})) > 0:
		c.Text = "No zero was taken in this sitting yet."
	case c.Zero != "":
		t, err := time.Parse(wallForm, c.Zero)
		if err == nil {
			c.Text = fmt.Sprintf("Last zero at %s; zeros are questioned after %s.", t.Format("15:04"), quantity.Format(float64(c.Stale)/60, quantity.None, 2)+" min")
		}
	}
	return c
}
