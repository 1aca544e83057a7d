package web

import (
	"errors"
	"fmt"
	"html"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// joinView is the part of a trace's page that brings another trace to its clock.
type joinView struct {
	Path, From, To string
	Channel        int
	Key            string
	With, By       field
	Offset, Reach  field
	Here, There    field
	Kept           []clockLine
	Problem        string
	Joint          *jointView
}

// clockLine is a shift that was kept.
type clockLine struct {
	Trace         int64
	Name          string
	Shift, Method string
	Look          string
}

// jointView is what two channels tell together.
type jointView struct {
	Trace          int64
	Name           string
	Channel, With  string
	Shift, Method  string
	Peak, Second   string
	Offset, U      string // as a form sends them back
	Warnings       []string
	From, To       string
	Pairs          int
	Lines          []jointLine
	Unitless, Kept bool
	Plot           template.HTML
}

type jointLine struct{ What, Value, Scatter, Clocks string }

// clockMethods are the ways to find a shift.
var clockMethods = [...][2]string{{"correlation", "what both show alike"}, {"mark", "one event in both"}, {"offset", "an offset that is known"}}

// shiftText writes a shift: "4.50 ± 0.20 s".
func shiftText(offset, u float64) string {
	return strings.Replace(quantity.FormatU(offset, u, quantity.Second), "-", "−", 1)
}

// clockOf fills in the part that joins a trace with others; nil where the study has no other.
func (s *Server) clockOf(r *http.Request, o *opened, x notebook.Trace, channel int, win [2]float64, q url.Values) (*joinView, error) {
	ctx := r.Context()
	all, err := s.nb.Traces(ctx, o.ID)
	if err != nil {
		return nil, err
	}
	others := map[int64]notebook.Trace{}
	v := &joinView{Path: at("studies", o.ID, "traces", x.ID), From: plainSeconds(win[0]), To: plainSeconds(win[1]), Channel: channel}
	v.With = field{Name: "with", Label: "Another log of the same time", Kind: "select", Options: []option{{Label: "none"}}}
	for _, y := range all {
		if y.ID == x.ID {
			continue
		}
		others[y.ID] = y
		for k, c := range y.Channels {
			value := fmt.Sprintf("%d.%d", y.ID, k)
			v.With.Options = append(v.With.Options, option{Value: value, Label: y.Mapping.Name + ", " + c.Name, Chosen: value == q.Get("with")})
		}
	}
	if len(others) == 0 {
		return nil, nil
	}
	by := q.Get("by")
	v.By = field{Name: "by", Label: "Brought together by", Kind: "select"}
	for _, m := range clockMethods {
		v.By.Options = append(v.By.Options, option{m[0], m[1], m[0] == by})
	}
	v.Offset = field{Name: "offset", Label: "Offset, added to its times", Value: q.Get("offset"), Hint: "as in 4.5 ± 0.3 s; with (k=2) where it is not a limit"}
	v.Reach = field{Name: "reach", Label: "Sought within, s", Value: q.Get("reach"), Mode: "decimal", Hint: "empty: half the shorter log"}
	v.Here = field{Name: "here", Label: "Event in this trace, s", Value: q.Get("here"), Mode: "decimal"}
	v.There = field{Name: "there", Label: "Event in the other, s", Value: q.Get("there"), Mode: "decimal"}
	if v.Key, err = newToken(s.rand); err != nil {
		return nil, err
	}
	kept, err := s.nb.Clocks(ctx, &x)
	if err != nil {
		return nil, err
	}
	for _, c := range kept {
		y, ok := others[c.Trace]
		if !ok {
			continue
		}
		look := url.Values{"channel": {strconv.Itoa(channel)}, "wfrom": {v.From}, "wto": {v.To}, "by": {"kept"}, "with": {fmt.Sprintf("%d.%d", y.ID, partner(&x, channel, &y))}}
		v.Kept = append(v.Kept, clockLine{Trace: y.ID, Name: y.Mapping.Name, Shift: shiftText(c.Offset, c.U), Method: c.Method, Look: v.Path + "?" + look.Encode() + "#clocks"})
	}
	var id int64
	var k int
	if n, err := fmt.Sscanf(q.Get("with"), "%d.%d", &id, &k); n != 2 || err != nil {
		return v, nil
	}
	y, ok := others[id]
	if !ok || k < 0 || k >= len(y.Channels) {
		v.Problem = "the study has no such channel in another trace"
		return v, nil
	}
	al, err := s.shiftOf(r, x, channel, y, k, by, q, kept)
	var j *trace.Joint
	if err == nil {
		j, err = s.nb.JoinTraces(ctx, x.ID, channel, y.ID, k, al, win[0], win[1])
	}
	if err != nil {
		if notebook.CodeOf(err) != notebook.Invalid && !errors.As(err, new(shiftFault)) {
			return nil, err
		}
		v.Problem = plainFault(err)
		return v, nil
	}
	v.Joint = jointOf(&x, channel, &y, k, j)
	v.Joint.Kept = by == "kept"
	if v.Joint.Plot, err = s.drawJoint(r, x, channel, y, k, j); err != nil {
		return nil, err
	}
	return v, nil
}

// a shiftFault is what is wrong with how a shift was asked for.
type shiftFault struct{ error }

func plainFault(err error) string {
	var e *notebook.Error
	if errors.As(err, &e) && e.Err != nil {
		return e.Err.Error()
	}
	return err.Error()
}

// partner is the channel of another trace that measures what a channel's rail lacks; 0 where nothing is known.
func partner(x *notebook.Trace, channel int, y *notebook.Trace) int {
	mine, ok := x.Mapping.Role(channel)
	if !ok {
		return 0
	}
	for _, r := range y.Mapping.Roles {
		if r.Rail == mine.Rail && r.Rail != "" && r.Is != mine.Is {
			return r.Channel
		}
	}
	return 0
}

// shiftOf finds the shift as a form asks.
func (s *Server) shiftOf(r *http.Request, x notebook.Trace, ca int, y notebook.Trace, cb int, by string, q url.Values, kept []notebook.Clock) (al trace.Alignment, err error) {
	ctx := r.Context()
	switch by {
	case "kept":
		for _, c := range kept {
			if c.Trace == y.ID {
				return c.Alignment(), nil
			}
		}
		return al, shiftFault{errors.New("no shift of the two is kept")}
	case "offset":
		e, err := quantity.Parse(q.Get("offset"), quantity.Second, "s")
		if err != nil {
			return al, shiftFault{fmt.Errorf("the offset: %w", err)}
		}
		u, err := notebook.OffsetU(e)
		if err != nil {
			return al, shiftFault{err}
		}
		if al, err = trace.ByOffset(e.Value(), u); err != nil {
			err = shiftFault{err}
		}
		return al, err
	case "mark":
		here, ok1 := figureIn(q, "here")
		there, ok2 := figureIn(q, "there")
		if !ok1 || !ok2 {
			return al, shiftFault{errors.New("when the event was is wanted in seconds of either trace")}
		}
		sa, err := s.nb.StepAt(ctx, x.ID, ca, here)
		if err != nil {
			return al, err
		}
		sb, err := s.nb.StepAt(ctx, y.ID, cb, there)
		if err != nil {
			return al, err
		}
		if al, err = trace.ByMark(here, there, sa, sb); err != nil {
			err = shiftFault{err}
		}
		return al, err
	}
	reach, _ := figureIn(q, "reach")
	key := shiftKey{x.ID, ca, y.ID, cb, reach}
	if got, ok := s.shifts.Load(key); ok {
		return got.(trace.Alignment), nil
	}
	al, err = s.nb.CorrelateTraces(ctx, x.ID, ca, y.ID, cb, max(reach, 0))
	if err == nil && x.Outcome == notebook.Complete && y.Outcome == notebook.Complete {
		s.shifts.Store(key, al)
	}
	return al, err
}

// shiftKey names a shift that was found between finished traces.
type shiftKey struct {
	a     int64
	ca    int
	b     int64
	cb    int
	reach float64
}

// jointOf writes out what two channels tell together.
func jointOf(x *notebook.Trace, ca int, y *notebook.Trace, cb int, j *trace.Joint) *jointView {
	v := &jointView{Trace: y.ID, Name: y.Mapping.Name, Channel: x.Channels[ca].Name, With: y.Channels[cb].Name,
		Shift: shiftText(j.Offset, j.U), Method: j.Method, Warnings: j.Warnings, From: plainSeconds(j.From), To: plainSeconds(j.To), Pairs: j.Pairs,
		Offset: strconv.FormatFloat(j.Offset, 'g', -1, 64), U: strconv.FormatFloat(j.U, 'g', -1, 64), Unitless: j.Unit != quantity.Watt}
	if j.Peak != 0 {
		v.Peak, v.Second = strconv.FormatFloat(j.Peak, 'f', 3, 64), strconv.FormatFloat(math.Abs(j.Second), 'f', 3, 64)
	}
	w := func(f float64) string { return quantity.Format(f, j.Unit, 2) }
	if !v.Unitless {
		v.Lines = append(v.Lines, jointLine{"mean of v·i", quantity.FormatU(j.Power.Mean(), j.UPower(), j.Unit), w(j.Power.U), w(j.UClockPower)},
			jointLine{What: "product of the means", Value: quantity.Format(j.OfMeans, j.Unit, 5)})
		if j.Share != nil {
			v.Lines = append(v.Lines, jointLine{"difference", quantity.FormatU(j.Together, j.UTogether(), j.Unit), w(math.Abs(j.OfMeans) * j.Share.U), w(j.UClock)})
		}
	}
	if sh := j.Share; sh != nil {
		p := func(f float64) string { return quantity.Format(100*f, quantity.None, 2) + " %" }
		v.Lines = append(v.Lines, jointLine{"as a part of the product", "(" + quantity.FormatU(100*sh.Mean(), 100*j.UShare(), quantity.None) + ") %", p(sh.U), p(j.UClockShare)})
	}
	return v
}

// drawJoint draws both over the time that they share, each from its least to its greatest, so that the eye can judge
// the shift.
func (s *Server) drawJoint(r *http.Request, x notebook.Trace, ca int, y notebook.Trace, cb int, j *trace.Joint) (template.HTML, error) {
	a, err := s.nb.TraceView(r.Context(), x.ID, ca, j.From, j.To, plotPixels/2)
	if err != nil {
		return "", err
	}
	b, err := s.nb.TraceView(r.Context(), y.ID, cb, j.From-j.Offset, j.To-j.Offset, plotPixels/2)
	if err != nil {
		return "", err
	}
	span := max(j.To-j.From, 1e-9)
	px := func(t float64) float64 { return (t - j.From) / span * plotWidth }
	line := func(list []notebook.Pixel, shift float64) string {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range list {
			if p.N > 0 {
				lo, hi = min(lo, p.Mean), max(hi, p.Mean)
			}
		}
		var d strings.Builder
		letter := "M"
		for _, p := range list {
			if p.N == 0 {
				letter = "M"
				continue
			}
			part := 0.5
			if hi > lo {
				part = (p.Mean - lo) / (hi - lo)
			}
			fmt.Fprintf(&d, "%s%.1f %.1f", letter, px(p.From/2+p.To/2+shift), 8+(1-part)*(plotHeight-plotBottom-16))
			letter = "L"
		}
		return d.String()
	}
	var d strings.Builder
	fmt.Fprintf(&d, `<svg class="trace-svg" viewBox="0 0 %g %g" role="img" aria-label="%s">`, plotWidth, plotHeight,
		html.EscapeString(fmt.Sprintf("%s and %s on one clock, each from its least to its greatest", x.Channels[ca].Name, y.Channels[cb].Name)))
	for _, t := range ticks(j.From, j.To, 7) {
		fmt.Fprintf(&d, `<path class="trace-grid" d="M%.1f 0V%g"></path><text x="%.1f" y="%g" text-anchor="middle">%s</text>`, px(t), plotHeight-plotBottom, min(max(px(t), 24), plotWidth-24), plotHeight-8, tickText(t, j.From, j.To))
	}
	fmt.Fprintf(&d, `<path class="trace-mean" d="%s"></path><path class="trace-other" d="%s"></path></svg>`, line(a, 0), line(b, j.Offset))
	return template.HTML(d.String()), nil
}

// keepClock keeps a shift, or forgets one.
func (s *Server) keepClock(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	other, err1 := strconv.ParseInt(f.Raw("other"), 10, 64)
	c := notebook.Clock{Trace: other, Method: f.Raw("method")}
	forget := f.Raw("do") == "forget"
	ok1, ok2 := true, true
	if !forget {
		c.Offset, ok1 = figureIn(r.PostForm, "shift")
		c.U, ok2 = figureIn(r.PostForm, "u")
	}
	if err1 != nil || !ok1 || !ok2 || c.U < 0 {
		return badRequest("the form lacks its shift", "Load the page again.")
	}
	if _, err := s.nb.AlignTrace(r.Context(), x.Mapping.ID, c, forget, s.origin(r, "")); err != nil {
		return err
	}
	if forget {
		flash(w, "The two have clocks of their own again. Readings that were taken stay.")
	} else {
		flash(w, "Kept the shift: a window of either trace now gives readings of both.")
	}
	return seeOther(w, r, at("studies", o.ID, "traces", x.ID)+"?"+url.Values{"channel": {f.Raw("channel")}, "wfrom": {f.Raw("wfrom")}, "wto": {f.Raw("wto")}}.Encode()+"#clocks")
}
