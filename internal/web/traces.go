package web

import (
	"fmt"
	"net/http"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
)

func (s *Server) tracesRoutes(rt *routes) {
	rt.tab(25, "Traces", "traces")
	rt.handle("GET /studies/{study}/traces", s.listTraces)
	rt.stream("POST /studies/{study}/logs", s.receiveLog)
	rt.handle("GET /studies/{study}/logs/{log}", s.showLog)
	rt.handle("POST /studies/{study}/logs/{log}", s.settleLog)
	rt.handle("GET /studies/{study}/traces/{trace}", s.showTrace)
	rt.handle("GET /studies/{study}/traces/{trace}/view", s.viewTrace)
	rt.handle("GET /studies/{study}/traces/{trace}/window", s.windowPart)
	rt.handle("POST /studies/{study}/traces/{trace}/take", s.takeWindow)
	rt.handle("POST /studies/{study}/traces/{trace}/channels", s.mapTrace)
	rt.handle("POST /studies/{study}/traces/{trace}/clock", s.keepClock)
	rt.handle("POST /studies/{study}/traces/{trace}/drop", s.dropTrace)
	rt.stream("GET /studies/{study}/traces/{trace}/{file}", s.exportTrace)
}

// traceLine is one trace in the list.
type traceLine struct {
	notebook.Trace
	From     string
	Length   string
	Channels string
	Unfinished,
	Mapped,
	Live, Recording bool
}

// tracesView is the list, and the place to drop a log.
type tracesView struct {
	Traces  []traceLine
	Coming  []comingLine // logs that were sent and are not kept yet
	Problem *problem
}

type comingLine struct{ Name, Path, State string }

func (s *Server) listTraces(w http.ResponseWriter, r *http.Request) error {
	return s.tracesPage(w, r, nil)
}

func (s *Server) tracesPage(w http.ResponseWriter, r *http.Request, trouble *problem) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	list, err := s.nb.Traces(r.Context(), o.ID)
	if err != nil {
		return err
	}
	v := tracesView{Problem: trouble}
	for _, x := range list {
		line := traceLine{Trace: x, From: sourceWords(x), Unfinished: x.Outcome == "", Mapped: len(x.Mapping.Roles) > 0, Live: x.Source == notebook.FromMeters}
		line.Recording = line.Unfinished && s.recordingOf(o.ID, x.ID)
		line.Channels = counted(len(x.Channels), "channel")
		most := int64(0)
		for _, n := range x.Samples {
			most = max(most, n)
		}
		line.Length = counted(int(most), "sample")
		v.Traces = append(v.Traces, line)
	}
	for _, c := range s.coming.of(o.ID) {
		v.Coming = append(v.Coming, comingLine{Name: c.name, Path: at("studies", o.ID, "logs", c.token), State: c.words()})
	}
	p := page{Title: "Traces", Study: o, Tab: "traces", Live: true, Styles: []string{"trace.css"}, Scripts: []string{"trace-drop.js"}, Data: v}
	if trouble != nil {
		p.Status = trouble.Status
	}
	return s.render(w, r, "traces", p)
}

// sourceWords says where a trace comes from.
func sourceWords(x notebook.Trace) string {
	from := "recorded live"
	if x.Source == notebook.FromLog {
		from = "from " + x.File
	}
	if !x.Zero.IsZero() {
		zone := ""
		if x.Zone {
			zone = " UTC"
		}
		from += ", begins " + x.Zero.UTC().Format("2006-01-02 15:04:05") + zone
	}
	return from
}

// traceOf reads the trace that a path names, which must be of the study.
func (s *Server) traceOf(r *http.Request) (*opened, notebook.Trace, error) {
	o, err := s.studyFromPath(r)
	if err != nil {
		return nil, notebook.Trace{}, err
	}
	id, err := numberIn(r, "trace")
	if err != nil {
		return nil, notebook.Trace{}, err
	}
	x, err := s.nb.Trace(r.Context(), id)
	if err == nil && (x.Study != o.ID || x.Outcome == notebook.Abandoned) {
		err = notFound(fmt.Sprintf("this study has no trace %d", id))
	}
	return o, x, err
}

// dropTrace takes a trace out of the study; one that was not finished is given up.
func (s *Server) dropTrace(w http.ResponseWriter, r *http.Request) error {
	if _, err := readForm(r); err != nil {
		return err
	}
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	if x.Outcome == "" {
		err = s.nb.AbandonTrace(r.Context(), x.ID, s.origin(r, ""))
	} else {
		_, err = s.nb.Withdraw(r.Context(), notebook.AMapping, x.Mapping.ID, s.origin(r, ""))
	}
	if err != nil {
		return err
	}
	flash(w, "The trace no longer belongs to the study. Readings taken from it stay.")
	return seeOther(w, r, at("studies", o.ID, "traces"))
}

// exportTrace sends the samples as they are exported by the command line.
func (s *Server) exportTrace(w http.ResponseWriter, r *http.Request) error {
	_, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	clock := 0
	if _, err := fmt.Sscanf(r.URL.Query().Get("clock"), "%d", &clock); err != nil {
		clock = 0
	}
	if clock < 0 || clock >= x.Clocks() {
		return notFound("the trace has no such channels")
	}
	switch r.PathValue("file") {
	case "samples.csv":
		w.Header().Set("Content-Type", "text/csv; charset=utf-8")
		w.Header().Set("Content-Disposition", attachment(x.Mapping.Name, "csv"))
		err = s.nb.ExportCSV(r.Context(), w, x.ID, clock)
	case "samples.parquet":
		w.Header().Set("Content-Type", "application/vnd.apache.parquet")
		w.Header().Set("Content-Disposition", attachment(x.Mapping.Name, "parquet"))
		err = s.nb.ExportParquet(r.Context(), w, x.ID, clock)
	default:
		return notFound("no file is called " + r.PathValue("file"))
	}
	if err != nil {
		s.log.Warn("export of a trace broke off", "trace", x.ID, "error", err)
		panic(http.ErrAbortHandler) // what was sent is not whole, and the browser must see that
	}
	return nil
}

// roleOptions are what a channel can be, as the options of a field.
func roleOptions(o *opened, unit quantity.Unit, now notebook.ChannelRole, known bool) []option {
	out := []option{{Value: "", Label: "nothing of the board", Chosen: !known}}
	add := func(r notebook.ChannelRole) {
		if notebook.CheckRole(o.Record.Study, notebook.Channel{Unit: unit}, r) != nil {
			return
		}
		for _, x := range out {
			if x.Value == roleValue(r) {
				return
			}
		}
		out = append(out, option{Value: roleValue(r), Label: r.String(), Chosen: known && roleValue(r) == roleValue(now)})
	}
	for _, b := range o.Record.Study.Boards {
		for _, rail := range b.Rails {
			add(notebook.ChannelRole{Is: notebook.Voltage, Rail: rail.Name})
			for _, tap := range rail.Taps {
				add(notebook.ChannelRole{Is: notebook.Current, Rail: rail.Name, Tap: tap.Name})
			}
		}
	}
	if known && now.Is == notebook.Temperature {
		add(now)
	}
	for _, name := range temperatureNames(o) {
		add(notebook.ChannelRole{Is: notebook.Temperature, Name: name})
	}
	add(notebook.ChannelRole{Is: notebook.Throughput})
	return out
}

// temperatureNames are the names under which temperatures were read in the study.
func temperatureNames(o *opened) (out []string) {
	seen := map[string]bool{}
	for _, s := range o.Record.Study.Sittings {
		for _, st := range s.Steps {
			for _, t := range st.Temperatures {
				if !seen[t.Name] {
					seen[t.Name] = true
					out = append(out, t.Name)
				}
			}
		}
	}
	return out
}
