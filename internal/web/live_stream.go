package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
)

// liveTick is how often live digits are sent, when there are new ones: often
// enough that a page is never more than 150 ms behind a meter.
const liveTick = 40 * time.Millisecond

// digits is what a meter shows at the moment, as text for a page.
type digits struct {
	Meter   string `json:"meter"`
	Mark    string `json:"mark"`
	Number  string `json:"number"` // "958.071", "overload", "no reading"
	Unit    string `json:"unit"`   // "mV"
	Mean    string `json:"mean"`   // "mean of 120: 958.07 mV, scatter 0.3 mV"
	Trend   string `json:"trend"`  // "−4.0 mV a minute"
	Rate    string `json:"rate"`   // "48 readings a second, times ± 10 ms"
	Trouble string `json:"trouble,omitempty"`
	Taking  string `json:"taking,omitempty"` // how far a take has come
	Count   int64  `json:"count"`
	Arrived int64  `json:"arrived"` // of the last answer, milliseconds since 1970
}

// digitsOf writes a view out; u is the unit it is read in.
func (l *live) digitsOf(v acquire.View, u quantity.Unit) digits {
	d := digits{Meter: v.Meter, Mark: string(v.Mark), Trouble: v.Trouble, Count: v.Count}
	if !v.Arrived.IsZero() {
		d.Arrived = v.Arrived.UnixMilli()
	}
	switch {
	case math.IsNaN(v.Last):
		d.Number = "no reading"
	case math.IsInf(v.Last, 0):
		d.Number = "overload"
	default:
		d.Number, d.Unit, _ = strings.Cut(quantity.Format(v.Last, u, v.Digits()), " ")
	}
	if v.N > 1 {
		d.Mean = fmt.Sprintf("mean of %d: %s, scatter %s", v.N, quantity.Format(v.Mean, u, 6), quantity.Format(v.SD, u, 2))
		sign := "+"
		if v.PerSecond < 0 {
			sign = "−"
		}
		d.Trend = sign + quantity.Format(math.Abs(v.PerSecond)*60, u, 2) + " a minute"
		d.Rate = fmt.Sprintf("%.3g readings a second, times ± %s", v.Rate, quantity.Format(v.Skew, quantity.Second, 2))
	}
	if t, ok := l.takingOf(v.Meter); ok {
		d.Taking = fmt.Sprintf("averaging: %d readings in %.1f s, %s", t.N, t.Seconds, quantity.FormatU(t.Mean, 2*t.U, u))
	}
	return d
}

func (s *Server) liveRoutes(rt *routes) {
	rt.stream("GET /meters/live", s.liveDigits)
	rt.handle("GET /meters", s.showMeters)
	rt.handle("POST /meters", s.keepMeter)
	rt.handle("POST /meters/remove", s.removeMeter)
	rt.handle("POST /meters/try", s.tryMeter)
	rt.handle("POST /meters/find", s.findMeters)
}

// liveDigits sends what the meters named in the address show (server-sent
// events, event "digits"), until the page lets go.
func (s *Server) liveDigits(w http.ResponseWriter, r *http.Request) error {
	station, settings, err := s.live.now()
	if err != nil {
		return err
	}
	names := r.URL.Query()["meter"]
	if len(names) == 0 || len(names) > 64 {
		return badRequest("the address names no meter", "Name up to 64, as in /meters/live?meter=desk%20meter.")
	}
	for _, n := range names {
		if settings.Meter(n) == nil {
			return notFound(fmt.Sprintf("no meter is called %q", n))
		}
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	w.WriteHeader(http.StatusOK)
	c := http.NewResponseController(w)
	write := func(text string) bool {
		// A client that takes nothing for half a minute is gone.
		_ = c.SetWriteDeadline(time.Now().Add(2 * heartbeat))
		_, err := fmt.Fprint(w, text)
		return err == nil && c.Flush() == nil
	}
	if !write("retry: 2000\n\n") {
		return nil
	}
	var leaves []func()
	leave := func() {
		for _, l := range leaves {
			l()
		}
		leaves = nil
	}
	defer func() { leave() }()
	listen := func() {
		for _, n := range names {
			if l, err := station.Listen(n, nil); err == nil { // else it was taken out of the settings
				leaves = append(leaves, l)
			}
		}
	}
	listen()
	tick := time.NewTicker(liveTick)
	defer tick.Stop()
	sent := map[string]digits{}
	quiet := time.Now()
	for {
		select {
		case <-r.Context().Done():
			return nil
		case <-tick.C:
		}
		now, settings, err := s.live.now()
		if err != nil {
			return nil // the page comes back and is told
		}
		if now != station {
			leave()
			station = now
			listen()
		}
		var news []digits
		for _, n := range names {
			v, err := station.Now(n)
			if err != nil {
				continue
			}
			d := s.live.digitsOf(v, settings.Meter(n).Reads())
			if sent[n] != d {
				news, sent[n] = append(news, d), d
			}
		}
		if len(news) == 0 {
			if time.Since(quiet) > heartbeat {
				quiet = time.Now()
				if !write(": still here\n\n") {
					return nil
				}
			}
			continue
		}
		quiet = time.Now()
		body, err := json.Marshal(news)
		if err != nil {
			return err
		}
		if !write("event: digits\ndata: " + string(body) + "\n\n") {
			return nil
		}
	}
}
