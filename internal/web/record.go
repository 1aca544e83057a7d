package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
	"railtally/internal/recording"
)

// recordings are the live meters that are being kept as traces, one at a time for each study. They go on when pages
// are left or loaded again, and end with the server.
type recordings struct {
	mu  sync.Mutex
	all map[int64]*running // by study
}

// running is one recording; its channels are closed when it ended.
type running struct {
	*recording.Recording
	station *acquire.Station
	name    string
	began   time.Time
	stop    context.CancelFunc
	over    chan struct{}
	err     error // once over
}

// recordView is the part of the Bench page that records.
type recordView struct {
	Study, Sitting int64
	Meters         string // what would be recorded; empty: nothing
	On             bool
	Name           string
	For            string
	Trace          int64
	Lines          []recordLine
	Ended          string // how the last one ended
	Broken         bool
}

type recordLine struct{ Meter, Count, Trouble string }

func (s *Server) recordRoutes(rt *routes) {
	rt.handle("POST /studies/{study}/bench/{sitting}/record", s.record)
	rt.handle("GET /studies/{study}/bench/{sitting}/recording", s.recordingPart)
}

// benchMeters are the instruments of a study that are live meters here.
func (s *Server) benchMeters(o *notebook.Record) (*acquire.Station, []acquire.Meter, error) {
	station, settings, err := s.live.now()
	if err != nil {
		return nil, nil, err
	}
	var out []acquire.Meter
	for _, in := range o.Study.Instruments {
		if m := settings.Meter(in.Name); m != nil {
			out = append(out, *m)
		}
	}
	return station, out, nil
}

// record starts or stops a recording and answers at once: what it reads is written elsewhere.
func (s *Server) record(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	sitting, err := numberIn(r, "sitting")
	if err != nil {
		return err
	}
	if f.Raw("do") == "stop" {
		s.stopRecording(o.ID)
	} else if err := s.startRecording(r, o); err != nil {
		return err
	}
	if isHTMX(r) {
		return s.part(w, r, http.StatusOK, "bench", "record", s.recordViewOf(o.ID, sitting, o.Record))
	}
	return seeOther(w, r, at("studies", o.ID, "bench", sitting))
}

func (s *Server) startRecording(r *http.Request, o *opened) error {
	station, meters, err := s.benchMeters(o.Record)
	if err != nil {
		return err
	}
	if len(meters) == 0 {
		return badRequest("no meter of this study is live here", "Set one on the page Meters, under the name that the study gives it.")
	}
	s.recordings.mu.Lock()
	defer s.recordings.mu.Unlock()
	if x := s.recordings.all[o.ID]; x != nil && !x.ended() {
		return nil // pressed twice, or on two devices
	}
	var names []string
	for _, m := range meters {
		names = append(names, m.Name)
	}
	x := &running{station: station, began: s.now(), over: make(chan struct{})}
	x.name = "bench, " + x.began.Local().Format("2006-01-02 15:04:05")
	base := context.WithoutCancel(r.Context())
	if x.Recording, err = recording.Begin(base, s.nb, o.ID, station, meters, x.name, s.origin(r, "")); err != nil {
		return err
	}
	ctx, stop := context.WithCancel(base)
	x.stop = stop
	if s.recordings.all == nil {
		s.recordings.all = map[int64]*running{}
	}
	s.recordings.all[o.ID] = x
	go func() {
		defer close(x.over)
		if _, x.err = x.Run(ctx); x.err != nil {
			s.log.Error("a recording broke off", "trace", x.Trace(), "meters", strings.Join(names, ", "), "error", x.err)
		}
	}()
	return nil
}

func (x *running) ended() bool {
	select {
	case <-x.over:
		return true
	default:
		return false
	}
}

// stopWait is how long a page waits for the last readings to be on the disk.
const stopWait = 3 * time.Second

func (s *Server) stopRecording(study int64) {
	s.recordings.mu.Lock()
	x := s.recordings.all[study]
	s.recordings.mu.Unlock()
	if x == nil {
		return
	}
	x.stop()
	select {
	case <-x.over:
	case <-time.After(stopWait):
	}
}

// EndRecordings ends what is being recorded and waits until it is on the disk, before the notebook is closed.
func (s *Server) EndRecordings() {
	s.recordings.mu.Lock()
	defer s.recordings.mu.Unlock()
	for _, x := range s.recordings.all {
		x.stop()
		<-x.over
	}
}

// recordingOf tells whether a trace is being recorded at the moment.
func (s *Server) recordingOf(study, trace int64) bool {
	s.recordings.mu.Lock()
	defer s.recordings.mu.Unlock()
	x := s.recordings.all[study]
	return x != nil && x.Trace() == trace && !x.ended()
}

// recordViewOf shows what is recorded, or could be.
func (s *Server) recordViewOf(study, sitting int64, rec *notebook.Record) *recordView {
	v := &recordView{Study: study, Sitting: sitting}
	_, meters, err := s.benchMeters(rec)
	if err == nil {
		var names []string
		for _, m := range meters {
			names = append(names, m.Name)
		}
		v.Meters = strings.Join(names, ", ")
	}
	s.recordings.mu.Lock()
	x := s.recordings.all[study]
	s.recordings.mu.Unlock()
	if x == nil {
		return v
	}
	v.Name, v.Trace, v.On = x.name, x.Trace(), !x.ended()
	counts, _ := x.Counts()
	total := int64(0)
	for i, m := range x.Meters() {
		total += counts[i]
		l := recordLine{Meter: m.Name, Count: strconv.FormatInt(counts[i], 10) + " readings"}
		if now, err := x.station.Now(m.Name); err == nil {
			switch {
			case now.Trouble != "":
				l.Trouble = now.Trouble
			case now.Mark == acquire.Silent:
				l.Trouble = "silent"
			case now.Lost > 0:
				l.Count += fmt.Sprintf(", link lost and found again %d times", now.Lost)
			}
		}
		v.Lines = append(v.Lines, l)
	}
	v.For = s.now().Sub(x.began).Truncate(time.Second).String()
	if v.On {
		return v
	}
	v.Ended = fmt.Sprintf("%d readings kept", total)
	if x.err != nil {
		v.Broken = true
		cause := x.err
		var e *notebook.Error
		if errors.As(x.err, &e) && e.Err != nil {
			cause = e.Err
		}
		v.Ended = fmt.Sprintf("It broke off: %v. What was written until then is kept", cause)
	}
	return v
}

// recordingPart is fetched once a second while something is recorded.
func (s *Server) recordingPart(w http.ResponseWriter, r *http.Request) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	sitting, err := numberIn(r, "sitting")
	if err != nil {
		return err
	}
	if !isHTMX(r) {
		return seeOther(w, r, at("studies", o.ID, "bench", sitting))
	}
	return s.part(w, r, http.StatusOK, "bench", "record", s.recordViewOf(o.ID, sitting, o.Record))
}
