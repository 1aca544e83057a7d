package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/acquire"
)

// metersView is the page of live meters.
type metersView struct {
	Meters    []meterLine
	Fields    []field // of a meter that is added or changed
	More      []field
	Open      bool // the rarer fields hold something
	Editing   string
	Found     []foundLine
	Looked    bool
	Hosts     string
	Announced bool
	Path      string
	Problem   string
}

type meterLine struct {
	acquire.Meter
	Asked  string
	Public bool // at an address that is not of a private network
}

type foundLine struct{ Address, Is string }

// ours refuses what only this computer may do: a page that changes which
// addresses are connected to is a way into the network.
func ours(r *http.Request) error {
	if fromHost(r) {
		return nil
	}
	return &problem{http.StatusForbidden, "Only at the notebook's own computer", "meters are set where the notebook is served", "Open this page there. Readings can be taken from any device that is paired."}
}

// showMeters lists the meters with their live digits, and offers to add one.
func (s *Server) showMeters(w http.ResponseWriter, r *http.Request) error {
	_, settings, err := s.live.now()
	if err != nil {
		return err
	}
	values := map[string][]string{}
	name := r.URL.Query().Get("meter")
	if m := settings.Meter(name); m != nil {
		values = map[string][]string{"name": {m.Name}, "address": {m.Address}, "query": {m.Query}, "unit": {m.Unit}, "setup": {strings.Join(m.Setup, "\n")},
			"prepare": {m.Prepare}, "overload": {strings.Join(m.Overload, ", ")}, "timeout": {plainNumber(m.Timeout)},
			"pause": {plainNumber(m.Pause)}, "spacing": {plainNumber(m.Spacing)}}
		return s.metersPage(w, r, newForm(values), metersView{Editing: m.Name})
	}
	if a := r.URL.Query().Get("address"); a != "" {
		values["address"] = []string{a}
	}
	return s.metersPage(w, r, newForm(values), metersView{})
}

func plainNumber(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

func (s *Server) metersPage(w http.ResponseWriter, r *http.Request, f *form, v metersView) error {
	_, settings, err := s.live.now()
	if err != nil {
		return err
	}
	v.Path = s.live.path
	for _, m := range settings.Meters {
		line := meterLine{Meter: m, Asked: m.Query}
		if m.Query == "" {
			line.Asked = "READ?"
		}
		if a, err := acquire.ParseAddress(m.Address); err == nil {
			line.Public = !a.Private()
		}
		v.Meters = append(v.Meters, line)
	}
	units := []option{{Value: "", Label: "volts"}, {Value: "A", Label: "amperes"}, {Value: "°C", Label: "°C"}, {Value: "Ω", Label: "ohms"}}
	v.Fields = []field{
		f.fill(field{Name: "name", Label: "Instrument", Hint: "As your studies call it: " + s.metersNamed(r) + "the Bench page then shows its digits.", Required: true}),
		f.fill(field{Name: "address", Label: "Address", Hint: "192.0.2.7, 192.0.2.7:5025, serial:/dev/ttyUSB0@9600 or usbtmc:/dev/usbtmc0", Required: true}),
		f.fill(field{Name: "query", Label: "Asked for a reading", Hint: "READ? when left empty. It must answer in plain units: volts, not millivolts."}),
		f.fill(field{Name: "unit", Label: "It reads", Kind: "select", Options: units}),
	}
	v.More = []field{
		f.fill(field{Name: "setup", Label: "Sent after connecting", Kind: "area", Rows: 3, Hint: "Line by line, such as CONF:VOLT:DC and VOLT:NPLC 10."}),
		f.fill(field{Name: "prepare", Label: "Sent before each reading", Hint: "Where a scanner must be switched; {what}, {of} and {state} are put in."}),
		f.fill(field{Name: "overload", Label: "Words for beyond the range", Hint: "Besides 9.9E37, OL and the like; separated by commas."}),
		f.fill(field{Name: "timeout", Label: "Seconds to wait for an answer", Hint: "5 when left empty.", Mode: "decimal"}),
		f.fill(field{Name: "pause", Label: "Seconds between answer and question", Mode: "decimal"}),
		f.fill(field{Name: "spacing", Label: "Seconds between the readings of one answer", Hint: "For a meter with a timer of its own.", Mode: "decimal"}),
	}
	for _, x := range v.More {
		v.Open = v.Open || x.Value != ""
	}
	status := http.StatusOK
	if !f.OK() || v.Problem != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, r, "meters", page{Status: status, Title: "Meters", Styles: []string{"bench.css"}, Scripts: []string{"live.js"}, Data: v})
}

// metersNamed lists instruments of the shelf and the studies that could be live.
func (s *Server) metersNamed(r *http.Request) string {
	shelf, err := s.nb.Shelf(r.Context())
	if err != nil {
		return "" // a hint only
	}
	var names []string
	for _, x := range shelf {
		if x.Instrument != nil && (x.Instrument.Kind == "meter" || x.Instrument.Kind == "thermometer") {
			names = append(names, x.Name)
		}
	}
	slices.Sort(names)
	if len(names) == 0 {
		return ""
	}
	return strings.Join(names[:min(len(names), 6)], ", ") + "; "
}

// keepMeter adds a meter or changes one.
func (s *Server) keepMeter(w http.ResponseWriter, r *http.Request) error {
	if err := ours(r); err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	number := func(name string) float64 {
		text := strings.ReplaceAll(f.Text(name, false), ",", ".")
		if text == "" {
			return 0
		}
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || !(x >= 0 && x <= 600) {
			f.Fault(name, "no number of seconds", "0 to 600")
		}
		return x
	}
	m := acquire.Meter{Name: f.Text("name", true), Address: f.Text("address", true), Query: f.Text("query", false), Unit: f.Raw("unit"),
		Prepare: f.Text("prepare", false), Timeout: number("timeout"), Pause: number("pause"), Spacing: number("spacing")}
	for _, line := range strings.Split(f.Raw("setup"), "\n") {
		if line = strings.TrimSpace(line); line != "" {
			m.Setup = append(m.Setup, line)
		}
	}
	for _, word := range strings.Split(f.Raw("overload"), ",") {
		if word = strings.TrimSpace(word); word != "" {
			m.Overload = append(m.Overload, word)
		}
	}
	if m.Address != "" {
		if _, err := acquire.ParseAddress(m.Address); err != nil {
			f.Fault("address", "it leads nowhere", "192.0.2.7, 192.0.2.7:5025, serial:/dev/ttyUSB0@9600, usbtmc:/dev/usbtmc0")
		}
	}
	v := metersView{}
	if f.OK() {
		if err := m.Validate(); err != nil {
			v.Problem = sentence(err.Error())
		}
	}
	if !f.OK() || v.Problem != "" {
		return s.metersPage(w, r, f, v)
	}
	if err := s.live.change(func(x *acquire.Settings) error { return x.Put(m) }); err != nil {
		return err
	}
	flash(w, m.Name+" was kept.")
	return seeOther(w, r, "/meters")
}

func (s *Server) removeMeter(w http.ResponseWriter, r *http.Request) error {
	if err := ours(r); err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	name := f.Raw("name")
	if err := s.live.change(func(x *acquire.Settings) error { x.Remove(name); return nil }); err != nil {
		return err
	}
	flash(w, name+" was taken out; the readings that came from it stay.")
	return seeOther(w, r, "/meters")
}

// tryMeter asks one meter who it is and for one reading.
func (s *Server) tryMeter(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	_, settings, err := s.live.now()
	if err != nil {
		return err
	}
	m := settings.Meter(f.Raw("name"))
	if m == nil {
		return notFound("no such meter")
	}
	is, err := acquire.Try(r.Context(), m, acquire.Dial)
	if err != nil {
		flash(w, fmt.Sprintf("%s: %s.", m.Name, acquire.Why(err)))
	} else {
		flash(w, fmt.Sprintf("%s is %s, and reads %s.", m.Name, is.Ident, is.Reading(m.Reads())))
	}
	return seeOther(w, r, "/meters")
}

// findMeters looks for meters on this computer, and on a network that was named.
func (s *Server) findMeters(w http.ResponseWriter, r *http.Request) error {
	if err := ours(r); err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	where := acquire.Where{Hosts: []string{"127.0.0.1"}, Ports: acquire.UsualPorts(), Files: true}
	v := metersView{Looked: true, Hosts: f.Text("hosts", false), Announced: f.Checked("announced")}
	if v.Hosts != "" {
		where = acquire.Where{Hosts: strings.FieldsFunc(v.Hosts, func(c rune) bool { return c == ',' || c == ' ' }), Ports: acquire.UsualPorts()[:1]}
	}
	if v.Announced {
		where.Announced = true
		if v.Hosts == "" {
			where.Hosts, where.Files = nil, false
		}
	}
	found, err := acquire.Find(r.Context(), where, nil)
	if err != nil {
		v.Problem = sentence(err.Error())
	}
	for _, x := range found {
		is := x.Note
		if is == "" {
			is = x.Ident.String()
		}
		if x.Announced != "" {
			is = x.Announced + ": " + is
		}
		v.Found = append(v.Found, foundLine{x.Address.String(), is})
	}
	return s.metersPage(w, r, newForm(nil), v)
}
