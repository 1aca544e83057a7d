// Package rehearse takes whole sittings over a notebook's pages, as a browser
// does: it begins a sitting, asks the page what is to be read, has each reading
// taken from the live meter, and sends it as an entry. It is for tests and
// simulations that are to find what a person would find.
package rehearse

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"
)

// Rehearsal says which sitting is taken, and where.
type Rehearsal struct {
	Base  string // of the notebook's pages, as in http://127.0.0.1:7417
	Study int64
	Board string
	Room  string // as typed
	Meter string // that reads voltages and sensors
	// Clock tells the time on the bench's wall.
	Clock func() time.Time
	// TakeFor is how long each reading is averaged, in seconds; empty: until that
	// no longer helps.
	TakeFor string
	// Took is told each reading; may be nil.
	Took func(what, text string)
}

// slot is what the page says of one thing to be read.
type slot struct {
	ID         string `json:"id"`
	Visit      string `json:"visit"`
	Kind       string `json:"kind"`
	Title      string `json:"title"`
	What       string `json:"what"`
	Rail       string `json:"rail"`
	Tap        string `json:"tap"`
	Instrument string `json:"instrument"`
	Range      string `json:"range"`
	Name       string `json:"name"`
	Unit       string `json:"unit"`
	Bare       string `json:"bare"`
	Aside      bool   `json:"aside"`
	Live       bool   `json:"live"`
	Entry      int64  `json:"entry"`
}

// Sitting takes a whole sitting and returns its number.
func (r *Rehearsal) Sitting(ctx context.Context) (sitting int64, err error) {
	page := fmt.Sprintf("/studies/%d/bench", r.Study)
	form := url.Values{"board": {r.Board}, "room": {r.Room}, "by": {"rehearsal"}, "on": {r.Clock().Format("2006-01-02 15:04")},
		"voltagemeter": {r.Meter}, "currentmeter": {r.Meter}}
	to, err := r.post(ctx, page, form, nil)
	if err != nil {
		return 0, fmt.Errorf("begin the sitting: %w", err)
	}
	if _, err := fmt.Sscanf(to, page+"/%d", &sitting); err != nil {
		return 0, fmt.Errorf("begin the sitting: sent on to %q", to)
	}
	page = fmt.Sprintf("%s/%d", page, sitting)
	order, err := r.order(ctx, page)
	if err != nil {
		return sitting, err
	}
	for _, s := range order {
		if s.Aside || s.Entry != 0 {
			continue
		}
		if err := r.take(ctx, page, s); err != nil {
			return sitting, fmt.Errorf("%s %s: %w", s.Title, s.What, err)
		}
	}
	left, err := r.order(ctx, page)
	for _, s := range left {
		if !s.Aside && s.Entry == 0 && err == nil {
			err = fmt.Errorf("%s %s is still to be read", s.Title, s.What)
		}
	}
	return sitting, err
}

// take has one reading taken and keeps it.
func (r *Rehearsal) take(ctx context.Context, page string, s slot) error {
	if !s.Live {
		return errors.New("no live meter reads it")
	}
	var took struct {
		OK          bool
		Text, Error string
	}
	if _, err := r.post(ctx, page+"/take", url.Values{"at": {s.ID}, "takefor": {r.TakeFor}}, &took); err != nil {
		return err
	}
	if !took.OK {
		return errors.New(took.Error)
	}
	if r.Took != nil {
		r.Took(strings.TrimSpace(s.Title+" "+s.What), took.Text)
	}
	var kept struct {
		OK, Aside     bool
		Error, Accept string
	}
	entry := url.Values{"key": {fmt.Sprintf("%s %s", page, s.ID)}, "at": {s.ID}, "visit": {s.Visit}, "kind": {s.Kind}, "rail": {s.Rail}, "tap": {s.Tap},
		"instrument": {s.Instrument}, "range": {s.Range}, "name": {s.Name}, "unit": {s.Unit}, "bare": {s.Bare}, "text": {took.Text},
		"who": {"rehearsal"}, "taken": {r.Clock().Format(time.RFC3339)}}
	if _, err := r.post(ctx, page+"/entries", entry, &kept); err != nil {
		return err
	}
	if !kept.OK || kept.Aside {
		return fmt.Errorf("%q was not kept: %s %s", took.Text, kept.Error, kept.Accept)
	}
	return nil
}

var orderOn = regexp.MustCompile(`(?s)<div id="bench-order"[^>]*>(.*?)</div>`)

// order reads from the page what there is to be read, in its order.
func (r *Rehearsal) order(ctx context.Context, page string) ([]slot, error) {
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, r.Base+page, nil)
	if err != nil {
		return nil, err
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	body, err := io.ReadAll(a.Body)
	if err != nil {
		return nil, err
	}
	m := orderOn.FindSubmatch(body)
	if a.StatusCode != http.StatusOK || m == nil {
		return nil, fmt.Errorf("%s answers %s without an order of work", page, a.Status)
	}
	var out []slot
	return out, json.Unmarshal([]byte(html.UnescapeString(string(m[1]))), &out)
}

// post sends a form. With into the answer is JSON; without, where it leads.
func (r *Rehearsal) post(ctx context.Context, path string, form url.Values, into any) (to string, err error) {
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, r.Base+path, strings.NewReader(form.Encode()))
	if err != nil {
		return "", err
	}
	q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if into != nil {
		q.Header.Set("Accept", "application/json")
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	a, err := c.Do(q)
	if err != nil {
		return "", err
	}
	defer a.Body.Close()
	body, err := io.ReadAll(a.Body)
	switch {
	case err != nil:
		return "", err
	case into != nil:
		if err := json.Unmarshal(body, into); err != nil {
			return "", fmt.Errorf("%s answers %s: %w", path, a.Status, err)
		}
		return "", nil
	case a.StatusCode != http.StatusSeeOther:
		return "", fmt.Errorf("%s answers %s", path, a.Status)
	}
	return a.Header.Get("Location"), nil
}
