package web

import (
	"bytes"
	"html/template"
	"net/http"
	"net/url"

	"railtally/internal/chart"
	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// benchPicture is the rail lanes of the state at hand in both layouts.
type benchPicture struct {
	Wide, Narrow template.HTML
	Explained    string
}

// results fills in what the sitting says so far: the lanes of the state at
// hand, its total, and the totals of the states read.
func (o *order) results(v *benchView, here *wanted) error {
	whole := *o.record.Study
	sitting := *o.sitting
	sitting.Steps = nil
	for _, st := range o.sitting.Steps {
		if st.State != "" || len(st.Zeros) > 0 {
			sitting.Steps = append(sitting.Steps, st)
		}
	}
	whole.Sittings, whole.Comparisons, whole.Claims = []*study.Sitting{&sitting}, nil, nil
	done, _ := notebook.Finished(&whole)
	if v.Trouble = o.hinders(done); len(v.Trouble) > 0 {
		return nil
	}
	t, err := tally.Run(done, tally.Options{})
	if err != nil {
		// A figure that cannot be computed is told, and keeps nobody from reading on.
		v.Trouble = []study.Fault{{Path: []string{o.sitting.Name}, Message: err.Error()}}
		return nil
	}
	state := ""
	for _, x := range o.visits {
		if x.State != "" && (here == nil || x == here.visit || state == "") && (x.Step != 0 || state == "") {
			state = x.State
		}
		if here != nil && x == here.visit {
			break
		}
	}
	if here != nil && here.visit.State != "" {
		state = here.visit.State
	}
	for _, b := range t.Boards {
		for _, st := range b.States {
			if st.Complete {
				v.Totals = append(v.Totals, namedText{st.State.Name, figureText(st.Total, quantity.Watt)})
			}
		}
	}
	if state == "" {
		return nil
	}
	on := study.StateOn{Board: o.board.Name, State: state}
	v.TotalOf, v.Total = state, "nothing read yet"
	if st := t.State(on); st != nil {
		v.Total = soFar(st)
	}
	v.Lanes, err = lanesOf(t, on, "bench-lanes")
	return err
}

// lanesOf draws the rail lanes of a state in both layouts; id begins the
// identifiers of the drawings.
func lanesOf(t *tally.Tally, on study.StateOn, id string) (*benchPicture, error) {
	p := &benchPicture{}
	for _, x := range []struct {
		into  *template.HTML
		width float64
		id    string
	}{{&p.Wide, 640, id + "-wide"}, {&p.Narrow, 328, id + "-narrow"}} {
		d, err := chart.Lanes(t, on, chart.Options{Width: x.width, Inline: true, Bare: true, ID: x.id})
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := d.WriteSVG(&b); err != nil {
			return nil, err
		}
		// The drawing escapes every name that it writes.
		*x.into, p.Explained = template.HTML(b.String()), d.Explained
	}
	return p, nil
}

// logLine is one line of what was entered, newest first.
type logLine struct {
	ID          int64
	At, Step    string
	About, Text string
	By, Why     string
	Struck      bool   // it no longer holds
	State       string // "corrected", "undone", "set aside"
	Slot        string // address of its place; empty when there is none any more
	Aside, Head int64  // of an entry that was set aside: it, and what stands there
	HeadText    string
	Samples     string // address of the samples that it was taken from; empty: none
}

const loggedLines = 40

// log lists what was entered in the sitting last: everything, also what holds no
// longer, and what two devices entered at the same place. More is read only
// where undo has to go farther back for something that still holds.
func (b *bench) log(r *http.Request, o *order, v *benchView) error {
	for limit := loggedLines; ; limit *= 10 {
		all, err := b.s.nb.LogOf(r.Context(), o.id, limit)
		if err != nil {
			return err
		}
		names, err := b.traceNames(r, o, all)
		if err != nil {
			return err
		}
		if o.lines(all, v, names); v.Last != 0 || len(all) < limit {
			return nil
		}
	}
}

// traceNames reads the names of the study's traces where an entry comes from one.
func (b *bench) traceNames(r *http.Request, o *order, all []notebook.Entry) (map[string]int64, error) {
	for i := range all {
		if all[i].From != "" {
			return b.s.nb.TraceNames(r.Context(), o.row.Study)
		}
	}
	return nil, nil
}

// lines sets out rows of the log, which come newest first, and finds what undo
// and redo would take up.
func (o *order) lines(all []notebook.Entry, v *benchView, names map[string]int64) {
	v.Log, v.Last, v.LastAt, v.Redo = nil, 0, "", 0
	by := map[int64]*notebook.Entry{} // what superseded a row
	for i := range all {
		e := &all[i]
		if e.Supersedes != 0 {
			by[e.Supersedes] = e
		}
		if v.Last == 0 && by[e.ID] == nil && !e.Withdrawn {
			v.Last = e.ID
			if s := o.place(e); s != nil {
				v.LastAt = s.ID()
			}
		}
		if i == 0 && e.Withdrawn && e.Supersedes != 0 {
			v.Redo = e.ID
		}
		if len(v.Log) < loggedLines {
			l := o.line(e, by[e.ID])
			if e.From != "" {
				l.Samples = samplesPath(v.Study, names, e.From)
			}
			v.Log = append(v.Log, l)
		}
	}
}

// place is the slot of an entry, or nil.
func (o *order) place(e *notebook.Entry) *wanted {
	for _, v := range o.visits {
		if v.Step != e.Step || v.Step == 0 {
			continue
		}
		for _, s := range v.Slots {
			if s.matches(&e.Content) {
				return s
			}
		}
	}
	return nil
}

func (o *order) line(e, by *notebook.Entry) logLine {
	l := logLine{ID: e.ID, At: e.Accepted.Local().Format("15:04:05"), Text: entered(e), By: e.Device, Why: e.Why}
	if e.Who != "" {
		l.By = e.Who + ", " + e.Device
	}
	if s := o.place(e); s != nil {
		l.About, l.Step, l.Slot = s.title(), s.visit.Title, s.ID()
		if w := s.what(); w != "" {
			l.About += ", " + w
		}
		if e.Withdrawn && e.Supersedes == 0 && by == nil && s.Entry != nil {
			l.Aside, l.Head, l.HeadText = e.ID, s.Entry.ID, entered(s.Entry)
		}
	} else {
		l.About = string(e.Kind)
	}
	switch {
	case by != nil && by.Withdrawn:
		l.Struck, l.State = true, "undone"
	case by != nil:
		l.Struck, l.State = true, "corrected"
	case e.Withdrawn && e.Supersedes == 0:
		l.Struck, l.State = true, "set aside"
	case e.Withdrawn:
		l.Struck, l.State = true, "taken back"
	}
	return l
}

// echo answers while a person types: what the reading would mean.
func (b *bench) echo(w http.ResponseWriter, r *http.Request) error {
	_, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	s := o.find(q.Get("at"))
	if s == nil {
		return notFound("this is no longer asked for")
	}
	wall, _ := b.wall(q.Get("taken"))
	out := o.echo(s, candidate{Text: q.Get("text"), Range: q.Get("meterrange"), FeedSide: q.Get("feedside") != "", At: wall})
	return sendJSON(w, r, http.StatusOK, out)
}

// benchAt is the address of a slot of a sitting.
func benchAt(study, sitting int64, slot string) string {
	to := at("studies", study, "bench", sitting)
	if slot != "" {
		to += "?at=" + url.QueryEscape(slot)
	}
	return to
}
