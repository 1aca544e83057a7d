package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// traceView is the page of one trace.
type traceView struct {
	Trace    notebook.Trace
	Path     string
	From     string
	Channel  int
	Unit     string  // of the plot
	Factor   float64 // SI to it
	Begin    float64 // times of the whole record
	End      float64
	Show     [2]float64 // times shown
	Choose   field
	Judge    field
	Plot     template.HTML
	Stretch  []stretchLine
	Criteria string // what the criterion means
	Trouble  string // why there are no stretches
	Roles    []field
	Name     field
	Note     field
	Clocks   []int
	Window   windowView
	Other    *joinView // nil: the study has no other trace
	Notes    []string
}

// stretchLine is one stretch of the chosen channel.
type stretchLine struct {
	Kind, From, To, Mean, Why, Link string
	Steady                          bool
}

func (s *Server) showTrace(w http.ResponseWriter, r *http.Request) error {
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	return s.tracePage(w, r, o, x, newForm(nil), 0)
}

// figureIn reads a figure of an address; ok is false when there is none.
func figureIn(q url.Values, key string) (float64, bool) {
	v, err := strconv.ParseFloat(q.Get(key), 64)
	return v, err == nil && v-v == 0
}

func (s *Server) tracePage(w http.ResponseWriter, r *http.Request, o *opened, x notebook.Trace, f *form, status int) error {
	q := r.URL.Query()
	v := traceView{Trace: x, Path: at("studies", o.ID, "traces", x.ID), From: sourceWords(x), Roles: roleFields(f, o, &x), Notes: x.Notes}
	v.Name = field{Name: "name", Label: "Name", Value: x.Mapping.Name, Required: true, Fault: f.fault("name")}
	v.Note = field{Name: "note", Label: "Note", Value: x.Mapping.Note, Wide: true}
	for i := range x.Clocks() {
		v.Clocks = append(v.Clocks, i)
	}
	if k, err := strconv.Atoi(q.Get("channel")); err == nil && k >= 0 && k < len(x.Channels) {
		v.Channel = k
	}
	if len(x.Channels) > 0 && x.Samples[v.Channel] > 0 {
		if err := s.fillTrace(r, o, &v, q); err != nil {
			return err
		}
	}
	return s.render(w, r, "trace", page{Status: status, Title: x.Mapping.Name, Study: o, Tab: "traces", Live: x.Outcome == "",
		Styles: []string{"uplot.css", "trace.css"}, Scripts: []string{"uplot.min.js", "trace.js"}, Data: v})
}

// fillTrace works out what is shown of the chosen channel.
func (s *Server) fillTrace(r *http.Request, o *opened, v *traceView, q url.Values) error {
	ctx := r.Context()
	whole, err := s.nb.TraceView(ctx, v.Trace.ID, v.Channel, -math.MaxFloat64/4, math.MaxFloat64/4, 1)
	if err != nil {
		return err
	}
	v.Begin, v.End = whole[0].From, whole[0].To
	v.Show = [2]float64{v.Begin, v.End}
	if from, ok := figureIn(q, "from"); ok {
		v.Show[0] = max(from, v.Begin)
	}
	if to, ok := figureIn(q, "to"); ok {
		v.Show[1] = min(to, v.End)
	}
	if v.Show[0] > v.Show[1] {
		v.Show = [2]float64{v.Begin, v.End}
	}
	unit := v.Trace.Channels[v.Channel].Unit
	v.Unit, v.Factor = plotUnit(unit, whole[0].Min, whole[0].Max)
	v.Choose = field{Name: "channel", Label: "Channel", Kind: "select"}
	for i, c := range v.Trace.Channels {
		v.Choose.Options = append(v.Choose.Options, option{strconv.Itoa(i), c.Name, i == v.Channel})
	}
	crit := trace.Criteria()[0]
	v.Judge = field{Name: "criterion", Label: "Steady means", Kind: "select"}
	for _, c := range trace.Criteria() {
		if c.Name == q.Get("criterion") {
			crit = c
		}
	}
	for _, c := range trace.Criteria() {
		v.Judge.Options = append(v.Judge.Options, option{c.Name, c.Name, c.Name == crit.Name})
	}
	var first *[2]float64
	list, err := s.stretches(r, v.Trace, v.Channel, crit)
	if err != nil {
		v.Trouble = err.Error()
	}
	for _, st := range list {
		line := stretchLine{Kind: string(st.Kind), Mean: quantity.Format(st.Mean, unit, 5), Why: st.Verdict.Why}
		from, to := st.Start, st.End
		if st.Window != nil {
			from, to = st.Window.From, st.Window.To
			line.Steady = true
			if first == nil || to-from > first[1]-first[0] {
				first = &[2]float64{from, to}
			}
		}
		line.From, line.To = plainSeconds(from), plainSeconds(to)
		line.Link = fmt.Sprintf("%s?%s#window", v.Path, url.Values{"channel": {strconv.Itoa(v.Channel)}, "criterion": {crit.Name},
			"wfrom": {line.From}, "wto": {line.To}}.Encode())
		v.Stretch = append(v.Stretch, line)
	}
	win := [2]float64{v.Begin, v.End}
	if first != nil {
		win = *first
	}
	if from, ok := figureIn(q, "wfrom"); ok {
		if to, ok := figureIn(q, "wto"); ok && from < to {
			win = [2]float64{from, to}
		}
	}
	if v.Window, err = s.windowOf(r, o, v.Trace, v.Channel, win[0], win[1]); err != nil {
		return err
	}
	if v.Other, err = s.clockOf(r, o, v.Trace, v.Channel, win, q); err != nil {
		return err
	}
	pixels, err := s.nb.TraceView(ctx, v.Trace.ID, v.Channel, v.Show[0], v.Show[1], plotPixels)
	if err != nil {
		return err
	}
	v.Plot = drawTrace(pixels, v.Show, win, v.Factor, fmt.Sprintf("%s over time", v.Trace.Channels[v.Channel].Name))
	return nil
}

// plainSeconds writes a time to a microsecond.
func plainSeconds(t float64) string { return strconv.FormatFloat(math.Round(t*1e6)/1e6, 'f', -1, 64) }

// plotUnit chooses the prefix that a plot is drawn with.
func plotUnit(u quantity.Unit, lo, hi float64) (string, float64) {
	top := max(math.Abs(lo), math.Abs(hi))
	symbol := u.Symbol()
	if u != quantity.Volt && u != quantity.Ampere && u != quantity.Watt || top == 0 {
		return symbol, 1
	}
	switch {
	case top < 1e-3:
		return "µ" + symbol, 1e6
	case top < 1:
		return "m" + symbol, 1e3
	}
	return symbol, 1
}

// stretchKey names what was worked out of a finished trace.
type stretchKey struct {
	trace     int64
	channel   int
	criterion string
}

// proposeFrom is how many samples stretches are sought in at most: finding them ends in
// two thousand medians anyhow.
const proposeFrom = 1 << 18

// stretches finds the stretches of a channel, once for a trace that is complete.
func (s *Server) stretches(r *http.Request, x notebook.Trace, channel int, c trace.Criterion) ([]trace.Stretch, error) {
	key := stretchKey{x.ID, channel, c.Name}
	if list, ok := s.steady.Load(key); ok {
		return list.([]trace.Stretch), nil
	}
	got, err := s.nb.TraceSamples(r.Context(), x.ID, []int{channel}, -math.MaxFloat64, math.MaxFloat64, proposeFrom)
	if err != nil {
		return nil, err
	}
	list, _, err := trace.Windows(got.Series[0], trace.WindowOptions{Criterion: c})
	if err == nil && x.Outcome == notebook.Complete {
		s.steady.Store(key, list)
	}
	return list, err
}

// traceData is a view as a script gets it, in the plot's unit.
type traceData struct {
	T    []float64  `json:"t"` // middle of each pixel
	Min  []*float64 `json:"min"`
	Max  []*float64 `json:"max"`
	Mean []*float64 `json:"mean"`
	Odd  int64      `json:"odd"` // samples missing or beyond the range
}

// viewTrace sends what a plot shows between two times.
func (s *Server) viewTrace(w http.ResponseWriter, r *http.Request) error {
	_, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	from, ok1 := figureIn(q, "from")
	to, ok2 := figureIn(q, "to")
	factor, ok3 := figureIn(q, "factor")
	width, err1 := strconv.Atoi(q.Get("width"))
	channel, err2 := strconv.Atoi(q.Get("channel"))
	if !ok1 || !ok2 || !ok3 || err1 != nil || err2 != nil {
		return badRequest("from, to, width, channel and factor are wanted", "")
	}
	pixels, err := s.nb.TraceView(r.Context(), x.ID, channel, from, to, min(width, 4096))
	if err != nil {
		return err
	}
	d := traceData{T: []float64{}, Min: []*float64{}, Max: []*float64{}, Mean: []*float64{}}
	for _, p := range pixels {
		d.T = append(d.T, p.From/2+p.To/2)
		d.Odd += p.Odd
		if p.N == 0 {
			d.Min, d.Max, d.Mean = append(d.Min, nil), append(d.Max, nil), append(d.Mean, nil)
			continue
		}
		lo, hi, m := p.Min*factor, p.Max*factor, p.Mean*factor
		d.Min, d.Max, d.Mean = append(d.Min, &lo), append(d.Max, &hi), append(d.Mean, &m)
	}
	return sendJSON(w, r, http.StatusOK, d)
}
