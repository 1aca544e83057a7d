package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
)

// kept is the answer to an entry that was sent.
type kept struct {
	OK      bool   `json:"ok"`
	ID      int64  `json:"id,omitempty"`
	First   int64  `json:"first,omitempty"`
	Again   bool   `json:"again,omitempty"`
	Aside   bool   `json:"aside,omitempty"`   // kept, but another stands there
	By      string `json:"by,omitempty"`      // who entered the other
	Text    string `json:"text,omitempty"`    // what the other says
	Warning string `json:"warning,omitempty"` // worth a look
	Error   string `json:"error,omitempty"`
	Accept  string `json:"accept,omitempty"`
}

// sent is an entry as a form or a queue sends it.
type sent struct {
	sitting int64
	visit   string // key of the step
	based   int64  // the entry it corrects; 0: it is new
	take    string // names the readings that it was taken from; empty: typed
	notebook.Content
	notebook.Origin
}

func (b *bench) readSent(r *http.Request) (*sent, error) {
	sitting, err := b.owned(r)
	if err != nil {
		return nil, err
	}
	f, err := readForm(r)
	if err != nil {
		return nil, err
	}
	wall, taken := b.wall(f.Raw("taken"))
	e := &sent{sitting: sitting, visit: f.Raw("visit"), take: f.Raw("take")}
	e.based, _ = strconv.ParseInt(f.Raw("based"), 10, 64)
	e.Content = notebook.Content{
		Kind: notebook.Kind(f.Raw("kind")), Rail: f.Raw("rail"), Tap: f.Raw("tap"),
		Instrument: f.Raw("instrument"), Range: f.Raw("range"), Name: f.Text("name", false), Back: f.Checked("back"),
		FeedSide: f.Checked("feedside"), Text: strings.TrimSpace(f.Raw("text")), Bare: f.Raw("bare"),
		Meter: f.Raw("meter"), MeterRange: f.Raw("meterrange"), At: wall,
	}
	e.Unit = unitOf(f.Raw("unit"))
	e.Origin = notebook.Origin{Key: f.Raw("key"), Device: b.s.device(r), Who: f.Text("who", false), Why: f.Text("why", false), Taken: taken}
	if len(e.Key) > 100 || len(e.visit) > 300 {
		return nil, badRequest("the key is too long", "")
	}
	return e, nil
}

func unitOf(symbol string) quantity.Unit {
	for _, u := range []quantity.Unit{quantity.Volt, quantity.Ampere, quantity.Celsius, quantity.BytePerSecond} {
		if u.Symbol() == symbol {
			return u
		}
	}
	return quantity.None
}

// enter keeps an entry. A script gets the answer as JSON, at once; a form is
// sent on to what comes next, or shown again with what is wrong.
func (b *bench) enter(w http.ResponseWriter, r *http.Request) error {
	e, err := b.readSent(r)
	if !wantsJSON(r) {
		if err != nil {
			return err
		}
		return b.enterByForm(w, r, e)
	}
	var k kept
	status := http.StatusOK
	if err == nil {
		k, err = b.keep(r, e)
	}
	if err != nil {
		p := explain(err)
		k, status = kept{Error: p.Text, Accept: p.Do}, p.Status
		if q := (*quantity.Error)(nil); errors.As(err, &q) {
			k.Error, k.Accept = q.Msg, q.Accept
		}
		if status >= 500 {
			k.Error, k.Accept = trouble(p), ""
			b.s.log.Error("entry not kept", "error", err)
		}
	}
	return sendJSON(w, r, status, k)
}

// trouble says in a line what keeps an entry from being kept and what to do
// about it: the disk is full, the file cannot be written.
func trouble(p *problem) string {
	if p.Do == "" {
		return p.Title + ": " + sentence(p.Text)
	}
	return p.Title + ": " + sentence(p.Do)
}

func sendJSON(w http.ResponseWriter, r *http.Request, status int, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, status, "application/json", body)
}

// keep puts an entry on the disk. What somebody else entered in its place
// meanwhile stays; this one is then kept beside it, set aside, so that a person
// can choose.
func (b *bench) keep(r *http.Request, e *sent) (kept, error) {
	if e.take != "" {
		study, err := numberIn(r, "study")
		if err != nil {
			return kept{}, err
		}
		e.From = b.s.fromTake(r.Context(), study, e.take, e.Text, e.Origin)
	}
	if e.based != 0 {
		old, err := b.entryHere(r, e.based)
		if err != nil {
			return kept{}, err
		}
		c := e.Content
		c.Step = old.Step
		ack, err := b.s.nb.Correct(r.Context(), e.based, c, e.Origin)
		if c := (*notebook.Conflict)(nil); errors.As(err, &c) {
			return b.keepNew(r, e)
		}
		return answer(ack), err
	}
	return b.keepNew(r, e)
}

func answer(a notebook.Ack) kept {
	return kept{OK: true, ID: a.ID, First: a.First, Again: a.Again, Aside: a.Aside, Warning: a.Warning}
}

// keepNew appends an entry, and opens its step first where nobody did so yet.
func (b *bench) keepNew(r *http.Request, e *sent) (kept, error) {
	ctx := r.Context()
	d := notebook.Draft{Sitting: e.sitting, Aside: true, Content: e.Content, Origin: e.Origin}
	state, _, planned := parseVisitKey(e.visit, e.sitting)
	if !planned {
		first, err := strconv.ParseInt(strings.TrimPrefix(e.visit, "n"), 10, 64)
		if err != nil {
			return kept{}, badRequest("the entry names no step", "Load the page again.")
		}
		d.Step = first
		ack, err := b.s.nb.Append(ctx, d)
		return b.beside(r, ack), err
	}
	d.StepKey = e.visit
	step := notebook.Draft{Sitting: e.sitting, Content: notebook.Content{Kind: notebook.Step, State: state, At: e.At},
		Origin: notebook.Origin{Key: e.visit, Device: e.Device, Who: e.Who, Taken: e.Taken}}
	// Another device may open the same step between two tries; the third finds it.
	var err error
	for range 3 {
		var ack notebook.Ack
		if ack, err = b.s.nb.Append(ctx, d); err == nil {
			if ack.Warning != "" && state == "" {
				return b.beside(r, ack), b.tidy(r, ack.ID)
			}
			return b.beside(r, ack), nil
		}
		if notebook.CodeOf(err) != notebook.Invalid {
			break
		}
		var acks []notebook.Ack
		if acks, err = b.s.nb.AppendAll(ctx, []notebook.Draft{step, d}); err == nil {
			return b.beside(r, acks[1]), nil
		}
		if notebook.CodeOf(err) != notebook.Invalid {
			break
		}
	}
	return kept{}, err
}

// beside completes the answer to an entry that was set aside by what stands in
// its place.
func (b *bench) beside(r *http.Request, ack notebook.Ack) kept {
	k := answer(ack)
	if !k.Aside {
		return k
	}
	mine, err := b.s.nb.Entry(r.Context(), ack.ID)
	if err != nil {
		return k
	}
	study, _ := numberIn(r, "study")
	rec, err := b.record(r.Context(), study)
	if err != nil {
		return k
	}
	for i := range rec.Entries {
		x := &rec.Entries[i]
		if x.Step == mine.Step && x.First != mine.First && sameSlot(&x.Content, &mine.Content) {
			k.Text, k.By = entered(x), x.Device
		}
	}
	return k
}

func sameSlot(a, b *notebook.Content) bool {
	return a.Kind == b.Kind && a.Rail == b.Rail && a.Tap == b.Tap && a.Instrument == b.Instrument &&
		a.Range == b.Range && a.Name == b.Name && a.Back == b.Back
}

// entered is what an entry says, with the unit that bare figures had.
func entered(e *notebook.Entry) string {
	if e.Kind == notebook.Note || e.Bare == "" {
		return e.Text
	}
	if _, err := quantity.Parse(e.Text, e.Unit, ""); err == nil {
		return e.Text
	}
	return e.Text + " " + e.Bare
}

// enterByForm is enter for browsers without scripts: figures are understood
// here, and the next page is what comes next.
func (b *bench) enterByForm(w http.ResponseWriter, r *http.Request, e *sent) error {
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	here := o.find(r.PostForm.Get("at"))
	if here == nil {
		return badRequest("this is no longer asked for", "Go back to the bench; what you typed was not kept.")
	}
	if e.Kind != notebook.Note {
		if _, e.Bare, err = o.read(here, e.Text); err != nil {
			return b.page(w, r, study, o, here, r.PostForm, o.echo(here, candidate{Text: e.Text}))
		}
		e.Unit = o.unit(here)
	}
	k, err := b.keep(r, e)
	if err != nil {
		p := explain(err)
		if p.Status >= 500 && p.Status != http.StatusServiceUnavailable && p.Status != http.StatusInsufficientStorage {
			return err
		}
		if p.Status >= 500 {
			b.s.log.Error("entry not kept", "error", err)
			return b.page(w, r, study, o, here, r.PostForm, &echo{Error: trouble(p) + " What you typed is still here; keep it again then."})
		}
		return b.page(w, r, study, o, here, r.PostForm, &echo{Error: p.Text, Accept: p.Do})
	}
	if k.Aside {
		flash(w, "Kept, and set aside: "+k.By+" had entered "+k.Text+" there. Choose below.")
	}
	rec, err := b.record(r.Context(), study)
	if err != nil {
		return err
	}
	after, err := newOrder(rec, o.id, here.visit.Key)
	if err != nil {
		return err
	}
	to := at("studies", study, "bench", o.id)
	if next := after.next(after.find(here.ID()), false); next != nil {
		to += "?at=" + url.QueryEscape(next.ID())
	}
	return seeOther(w, r, to)
}
