package web

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
	"railtally/internal/recording"
)

// takes are means that were taken and not entered yet, by their token: their readings become a trace when the entry
// is kept as it was taken.
type takes struct {
	mu    sync.Mutex
	all   map[string]*heldTake
	order []string // oldest first
}

// heldTake is one of them.
type heldTake struct {
	meter acquire.Meter
	began time.Time
	name  string
	text  string
	*acquire.Taken
}

// heldTakes bounds how many wait to be entered.
const heldTakes = 64

func (t *takes) hold(token string, x *heldTake) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.all == nil {
		t.all = map[string]*heldTake{}
	}
	t.all[token] = x
	t.order = append(t.order, token)
	if len(t.order) > heldTakes {
		delete(t.all, t.order[0])
		t.order = t.order[1:]
	}
}

func (t *takes) of(token, text string) *heldTake {
	t.mu.Lock()
	defer t.mu.Unlock()
	if x := t.all[token]; x != nil && x.text == strings.TrimSpace(text) {
		return x
	}
	return nil // typed over, or from before the server was started
}

// holdTake keeps what was taken until it is entered, and returns its token.
func (b *bench) holdTake(o *order, here *wanted, got *acquire.Taken, m acquire.Meter, station *acquire.Station) (string, error) {
	token, err := newToken(b.s.rand)
	if err != nil {
		return "", err
	}
	name := "take " + b.s.now().Local().Format("2006-01-02 15:04:05") + ", " + here.title()
	if w := here.what(); w != "" {
		name += " " + w
	}
	if here.visit.State != "" {
		name += ", " + here.visit.State
	}
	b.s.takes.hold(token, &heldTake{meter: m, began: station.Began(), name: name, text: got.Text(o.unit(here)), Taken: got})
	return token, nil
}

// fromTake keeps the readings behind an entry as a trace, and returns what the entry says of where it comes from. An entry is
// never refused for it: where the trace cannot be kept, that is logged and the entry says nothing.
func (s *Server) fromTake(ctx context.Context, study int64, token, text string, o notebook.Origin) string {
	x := s.takes.of(token, text)
	if x == nil {
		return ""
	}
	o.Key = "take-" + token
	if _, err := recording.KeepTake(ctx, s.nb, study, x.meter, x.Taken, x.began, x.name, o); err != nil {
		// Sent twice: the trace is there, and the entry is kept once.
		list, lerr := s.nb.TraceNames(ctx, study)
		if _, there := list[x.name]; lerr != nil || !there {
			s.log.Error("the readings behind a take were not kept", "error", err)
			return ""
		}
	}
	from, to := x.T[0], x.T[len(x.T)-1]
	return fmt.Sprintf("%s, %s, %s s to %s s: %d samples worth %.0f", x.name, x.meter.Name, plainSeconds(from), plainSeconds(to), x.Stats.N, x.Stats.Neff)
}

// samplesPath finds the trace that a reading says it comes from, and the address of its window there; empty where there is none.
func samplesPath(study int64, names map[string]int64, from string) string {
	best := ""
	for name := range names {
		if strings.HasPrefix(from, name+", ") && len(name) > len(best) {
			best = name
		}
	}
	if best == "" {
		return ""
	}
	path := at("studies", study, "traces", names[best])
	head, _, _ := strings.Cut(from, ":")
	if i := strings.LastIndex(from, " s: "); i >= 0 {
		head = from[:i]
	}
	if begin, end, ok := strings.Cut(head[strings.LastIndex(head, ", ")+1:], " s to "); ok {
		path += "?wfrom=" + strings.TrimSpace(begin) + "&wto=" + strings.TrimSpace(end) + "#window"
	}
	return path
}
