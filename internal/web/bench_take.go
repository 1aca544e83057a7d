package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
	"railtally/internal/quantity"
)

// took is the answer to a script that had a reading taken.
type took struct {
	OK    bool   `json:"ok"`
	Text  string `json:"text,omitempty"` // to put into the field
	Said  string `json:"said,omitempty"` // what it rests on
	Take  string `json:"take,omitempty"` // names its readings, which are kept with the entry
	Error string `json:"error,omitempty"`
}

// longestTake bounds how long a page may have a meter averaged.
const longestTake = 2 * time.Minute

// take averages what the meter of a slot shows and puts the result into the
// field, to be looked at and kept as anything that is typed. A script gets it as
// JSON; a form gets the page with the field filled.
func (b *bench) take(w http.ResponseWriter, r *http.Request) error {
	if _, err := readForm(r); err != nil {
		return err
	}
	study, o, err := b.orderOf(r)
	if err != nil {
		return err
	}
	here := o.find(r.PostForm.Get("at"))
	if here == nil {
		return badRequest("this is no longer asked for", "Go back to the bench.")
	}
	// Averaging lasts longer than an ordinary answer may.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(longestTake + timeLimit))
	got, token, err := b.average(r, o, here)
	if errors.Is(err, context.Canceled) {
		return nil // the page was left, and nobody waits for the answer
	}
	if wantsJSON(r) {
		if err != nil {
			return sendJSON(w, r, http.StatusBadGateway, took{Error: sentence(err.Error())})
		}
		return sendJSON(w, r, http.StatusOK, took{OK: true, Text: got.Text(o.unit(here)), Said: takenFrom(got, o.unit(here)), Take: token})
	}
	typed := url.Values{"meterrange": {r.PostForm.Get("meterrange")}}
	if err != nil {
		return b.page(w, r, study, o, here, typed, &echo{Error: sentence(err.Error())})
	}
	typed.Set("text", got.Text(o.unit(here)))
	typed.Set("take", token)
	e := o.echo(here, candidate{Text: typed.Get("text"), Range: typed.Get("meterrange")})
	e.Taken = takenFrom(got, o.unit(here))
	return b.page(w, r, study, o, here, typed, e)
}

func (b *bench) average(r *http.Request, o *order, here *wanted) (got *acquire.Taken, token string, err error) {
	in, _ := o.meter(here)
	if in == nil || !b.s.live.has(in.Name) {
		return nil, "", errors.New("no live meter is set for this reading; set one on the page Meters")
	}
	station, settings, err := b.s.live.now()
	if err != nil {
		return nil, "", err
	}
	m := settings.Meter(in.Name)
	if m.Reads() != o.unit(here) {
		return nil, "", fmt.Errorf("%s is set to read %s, and %s is wanted here", in.Name, m.Reads().Symbol(), o.unit(here).Symbol())
	}
	opt := acquire.TakeOptions{Place: here.place(), Most: longestTake / 2,
		Progress: func(t acquire.Taking) { b.s.live.took(in.Name, t) }}
	if rng := o.expected(here); rng != nil && rng.Digit != nil {
		opt.Digit = rng.Digit.Value()
	}
	if s, err := strconv.ParseFloat(r.PostForm.Get("takefor"), 64); err == nil && s > 0 {
		opt.For = min(time.Duration(s*float64(time.Second)), longestTake/2)
	} else {
		opt.Most = 20 * time.Second
	}
	opt.Least = b.s.leastTake
	defer b.s.live.done(in.Name)
	if got, err = station.Take(r.Context(), in.Name, opt); err != nil {
		return nil, "", err
	}
	token, err = b.holdTake(o, here, got, *m, station)
	return got, token, err
}

// place says what a slot is to a meter's settings.
func (s *wanted) place() acquire.Place {
	p := acquire.Place{State: s.visit.State, Of: s.Rail + s.Instrument + s.Name}
	switch s.Kind {
	case notebook.Zero, notebook.Current, notebook.Voltage, notebook.Temperature:
		p.What = string(s.Kind)
	}
	return p
}

// takenFrom says what a reading rests on, for the line below the field.
func takenFrom(t *acquire.Taken, u quantity.Unit) string {
	text := fmt.Sprintf("From %d readings in %.3g s, worth %.3g independent ones; %s.", t.Stats.N, t.Seconds, t.Stats.Neff, t.Ended)
	if t.Stats.Overloads() > 0 {
		text += fmt.Sprintf(" %d were beyond the range and are left out.", t.Stats.Overloads())
	}
	if t.Again > 0 {
		text += " The link was lost and found again meanwhile."
	}
	if d := t.Stats.Trend; t.Stats.U > 0 && d.U > 0 && d.PerSecond*d.PerSecond > 9*d.U*d.U {
		text += " It drifted by " + quantity.Format(d.Change, u, 2) + " meanwhile: let the board settle and take it again."
	}
	return text
}
