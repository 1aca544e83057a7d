package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"railtally/internal/notebook"
	"railtally/internal/trace/logfile"
)

// logView is the page on which a log is settled: how it is read and what its channels are.
type logView struct {
	Name     string
	Path     string
	Known    bool
	Findings []logfile.Finding
	Asked    []logfile.Finding
	Preview  logfile.Preview
	Table    []field // of the table as a whole
	Times    []field
	Columns  []columnFields
	Title    field
	Keeping  bool
	Percent  int64
	Rows     int64
	Failed   string
	Same     string // address of the trace that is the same log
	Problem  string
	Key      string
}

// columnFields are the fields of one column.
type columnFields struct {
	Head   string
	Sample string
	Fields []field
}

func (s *Server) comingIn(r *http.Request) (*opened, *comingLog, error) {
	o, err := s.studyFromPath(r)
	if err != nil {
		return nil, nil, err
	}
	x := s.coming.get(r.PathValue("log"))
	if x == nil || x.study != o.ID {
		return nil, nil, notFound("that log is no longer waiting; send it again")
	}
	return o, x, nil
}

func (s *Server) showLog(w http.ResponseWriter, r *http.Request) error {
	o, x, err := s.comingIn(r)
	if err != nil {
		return err
	}
	x.mu.Lock()
	kept := x.trace
	x.mu.Unlock()
	if kept != 0 {
		s.coming.drop(x)
		flash(w, "The log is kept. Every window of it can become readings of a state.")
		return seeOther(w, r, at("studies", o.ID, "traces", kept))
	}
	if isHTMX(r) { // asks how far it has come
		v := s.logView(o, x, newForm(nil))
		return s.part(w, r, http.StatusOK, "trace-log", "progress", v)
	}
	return s.logPage(w, r, o, x, newForm(nil), "", 0)
}

func (s *Server) logPage(w http.ResponseWriter, r *http.Request, o *opened, x *comingLog, f *form, trouble string, status int) error {
	v := s.logView(o, x, f)
	v.Problem = trouble
	return s.render(w, r, "trace-log", page{Status: status, Title: "A log: " + x.name, Study: o, Tab: "traces", Styles: []string{"trace.css"}, Data: v})
}

func choices(now string, pairs ...string) (out []option) {
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, option{pairs[i], pairs[i+1], pairs[i] == now})
	}
	return out
}

func (s *Server) logView(o *opened, x *comingLog, f *form) *logView {
	x.mu.Lock()
	defer x.mu.Unlock()
	p := &x.detection.Profile
	v := &logView{Name: x.name, Path: at("studies", o.ID, "logs", x.token), Known: x.known, Findings: x.detection.Findings,
		Asked: x.detection.Questions(), Preview: x.detection.Preview(6), Keeping: x.keeping, Percent: 100 * min(x.done, x.size) / max(x.size, 1), Rows: x.rows}
	var same *notebook.SameLog
	if errors.As(x.err, &same) {
		v.Same = at("studies", same.Trace.Study, "traces", same.Trace.ID)
	}
	if x.err != nil {
		v.Failed = sentence(x.err.Error())
	}
	set := func(fd field) field {
		if f.values.Has(fd.Name) {
			return f.fill(fd)
		}
		return fd
	}
	v.Title = set(field{Name: "title", Label: "What the trace is called", Value: x.name, Wide: true})
	v.Table = []field{
		set(field{Name: "delimiter", Label: "Between fields", Kind: "select", Options: choices(p.Delimiter, ",", "comma", ";", "semicolon", "\t", "tab", "|", "bar", " ", "blanks")}),
		set(field{Name: "decimal", Label: "Decimal mark", Kind: "select", Options: choices(p.Decimal, ".", "point", ",", "comma")}),
		set(field{Name: "header", Label: "Line of names", Value: strconv.Itoa(p.Header), Mode: "numeric", Hint: "0: there is none"}),
		set(field{Name: "first", Label: "First line of data", Value: strconv.Itoa(p.FirstData), Mode: "numeric"}),
	}
	v.Times = timeFields(p, set)
	channel := 0
	for i, c := range p.Columns {
		v.Columns = append(v.Columns, columnOf(o, x, f, set, i, c, &channel))
	}
	return v
}

func timeFields(p *logfile.Profile, set func(field) field) (out []field) {
	switch p.Time.Kind {
	case logfile.NoTime:
		out = append(out, set(field{Name: "interval", Label: "Seconds between samples", Value: plainNumber(p.Time.Interval), Mode: "decimal", Hint: "Empty: samples are counted."}))
	case logfile.Elapsed, logfile.Epoch:
		out = append(out, set(field{Name: "timeunit", Label: "Unit of the times", Kind: "select", Options: choices(p.Time.Unit, "s", "s", "ms", "ms", "us", "µs", "ns", "ns", "min", "min", "h", "h")}))
	case logfile.DateTime, logfile.Clock:
		out = append(out, set(field{Name: "order", Label: "Order of dates", Kind: "select", Options: choices(p.Time.Order, "", "as written", "YMD", "year, month, day", "DMY", "day, month, year", "MDY", "month, day, year")}),
			set(field{Name: "zone", Label: "Offset from UTC", Value: p.Time.Zone, Hint: "Z or +02:00; empty: not known"}))
		if p.Time.Kind == logfile.Clock {
			out = append(out, set(field{Name: "date", Label: "Day of the record", Value: p.Time.Date, Hint: "2026-03-05; empty: not known"}))
		}
	}
	return out
}

func columnOf(o *opened, x *comingLog, f *form, set func(field) field, i int, c logfile.Column, channel *int) columnFields {
	name := func(what string) string { return fmt.Sprintf("%s.%d", what, i) }
	out := columnFields{Head: c.Header}
	if out.Head == "" {
		out.Head = fmt.Sprintf("Column %d", i+1)
	}
	out.Fields = append(out.Fields, set(field{Name: name("role"), Label: "Holds", Kind: "select", Options: choices(string(c.Role),
		"value", "values", "time", "times", "date", "dates", "counter", "row numbers", "channel", "names of channels", "unit", "units", "skip", "nothing of use")}))
	if c.Role != logfile.Value {
		return out
	}
	out.Fields = append(out.Fields, set(field{Name: name("name"), Label: "Channel", Value: c.Name}),
		set(field{Name: name("unit"), Label: "Written in", Value: c.Unit, Hint: "mV, A, °C; empty: no unit"}),
		set(field{Name: name("gain"), Label: "Times", Value: plainNumber(c.Gain), Mode: "decimal", Hint: "10 with A for 100 mV/A; empty: as it is"}),
		set(field{Name: name("as"), Label: "gives", Value: c.As, Hint: "the unit then"}))
	if p := &x.detection.Profile; p.Layout != logfile.Long {
		list := notebook.LogChannels(p)
		if k := *channel; k < len(list) {
			r, known := x.roles[list[k].Name]
			fd := field{Name: name("is"), Label: "Is", Kind: "select", Options: roleOptions(o, list[k].Unit, r, known), Fault: f.fault(name("is"))}
			out.Fields = append(out.Fields, fd)
		}
		*channel++
	}
	return out
}

// settleLog looks again with what was changed, throws the log away, or keeps it.
func (s *Server) settleLog(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	o, x, err := s.comingIn(r)
	if err != nil {
		return err
	}
	if f.Raw("do") == "discard" {
		s.coming.drop(x)
		flash(w, "The log was not kept.")
		return seeOther(w, r, at("studies", o.ID, "traces"))
	}
	x.mu.Lock()
	d, keeping := x.detection, x.keeping
	x.mu.Unlock()
	back := at("studies", o.ID, "logs", x.token)
	if keeping {
		return seeOther(w, r, back)
	}
	if h, changed := hintsIn(f, &d.Profile); changed {
		if err := s.look(r.Context(), o, x, h); err != nil {
			return s.logPage(w, r, o, x, f, sentence(err.Error()), http.StatusUnprocessableEntity)
		}
		return seeOther(w, r, back)
	}
	p, err := profileIn(f, d.Profile)
	if err != nil {
		return s.logPage(w, r, o, x, f, sentence(err.Error()), http.StatusUnprocessableEntity)
	}
	roles := rolesOfColumns(f, o, &p)
	if !f.OK() {
		return s.logPage(w, r, o, x, f, "A channel cannot be what is said of it.", http.StatusUnprocessableEntity)
	}
	x.mu.Lock()
	settled := *d
	settled.Profile = p
	x.detection, x.roles = &settled, roles
	x.mu.Unlock()
	if f.Raw("do") == "keep" {
		s.keep(r.Context(), x, notebook.Log{Profile: p, Title: f.Text("title", false), Roles: roles, Again: f.Checked("again")})
	}
	return seeOther(w, r, back)
}

// hintsIn reads what was said of the table as a whole; changed tells that it is to be looked at anew.
func hintsIn(f *form, p *logfile.Profile) (h logfile.Hints, changed bool) {
	h = logfile.Hints{Delimiter: p.Delimiter, Decimal: p.Decimal, Header: p.Header, FirstData: p.FirstData}
	was := h
	if x := f.Raw("delimiter"); x != "" {
		h.Delimiter = x
	}
	if x := f.Raw("decimal"); x != "" {
		h.Decimal = x
	}
	if n, err := strconv.Atoi(f.Text("header", false)); err == nil && n >= 0 {
		h.Header = n
	}
	if n, err := strconv.Atoi(f.Text("first", false)); err == nil && n > 0 {
		h.FirstData = n
	}
	changed = h != was
	if h.Header == 0 {
		h.Header = -1
	}
	return h, changed
}

// profileIn reads what was said of columns and times.
func profileIn(f *form, p logfile.Profile) (logfile.Profile, error) {
	p.Columns = append([]logfile.Column(nil), p.Columns...)
	for i := range p.Columns {
		c := &p.Columns[i]
		name := func(what string) string { return fmt.Sprintf("%s.%d", what, i) }
		if f.values.Has(name("role")) {
			c.Role = logfile.Role(f.Raw(name("role")))
		}
		if !f.values.Has(name("name")) {
			continue
		}
		c.Name, c.Unit, c.As = f.Text(name("name"), false), f.Text(name("unit"), false), f.Text(name("as"), false)
		c.Gain = 0
		if text := f.Text(name("gain"), false); text != "" {
			g, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return p, fmt.Errorf("column %d: %q is no factor", i+1, text)
			}
			c.Gain = g
		}
	}
	t := &p.Time
	if f.values.Has("interval") {
		t.Interval = 0
		if text := f.Text("interval", false); text != "" {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return p, fmt.Errorf("%q is no interval in seconds", text)
			}
			t.Interval = x
		}
	}
	for field, to := range map[string]*string{"timeunit": &t.Unit, "order": &t.Order, "zone": &t.Zone, "date": &t.Date} {
		if f.values.Has(field) {
			*to = f.Text(field, false)
		}
	}
	return p, p.Validate()
}

// rolesOfColumns reads what the channels are, which the form says by columns.
func rolesOfColumns(f *form, o *opened, p *logfile.Profile) map[string]notebook.ChannelRole {
	out := map[string]notebook.ChannelRole{}
	taken := map[string]string{}
	list := notebook.LogChannels(p)
	for k, c := range logfile.Channels(p) {
		name, ch := fmt.Sprintf("is.%d", c.Column), list[k]
		r, ok := roleFrom(f.Raw(name))
		if !ok {
			continue
		}
		if err := notebook.CheckRole(o.Record.Study, ch, r); err != nil {
			f.Fault(name, err.Error(), "")
			continue
		}
		if other, twice := taken[roleValue(r)]; twice {
			f.Fault(name, fmt.Sprintf("%s is the %s already", other, r), "")
			continue
		}
		taken[roleValue(r)] = ch.Name
		out[ch.Name] = r
	}
	return out
}
