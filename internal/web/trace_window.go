package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/trace"
)

// windowView is what a window tells, and the form that takes it.
type windowView struct {
	From, To string
	Path     string
	Channel  int
	Key      string
	Lines    []windowLine
	Allan    []allanLine
	AllanOf  string
	Warnings []string
	State    field
	Sitting  field
	Trouble  string // why nothing can be taken
	Problem  string
}

// windowLine is one channel in the window.
type windowLine struct {
	Name, Is, Mean, Scatter, Naive, Batches, Drift, Share string
	Samples, Worth                                        string
	Why                                                   string // it is no reading
}

type allanLine struct{ Time, Deviation string }

// windowOf works a window out.
func (s *Server) windowOf(r *http.Request, o *opened, x notebook.Trace, channel int, from, to float64) (windowView, error) {
	v := windowView{From: plainSeconds(from), To: plainSeconds(to), Path: at("studies", o.ID, "traces", x.ID), Channel: channel}
	var err error
	if v.Key, err = newToken(s.rand); err != nil {
		return v, err
	}
	list, err := s.nb.ReadWindow(r.Context(), x.ID, from, to)
	if notebook.CodeOf(err) == notebook.Invalid {
		v.Problem = errors.Unwrap(err).Error()
		return v, nil
	}
	if err != nil {
		return v, err
	}
	if len(list) == 0 {
		v.Problem = "no sample lies in that window"
	}
	taken := 0
	for _, w := range list {
		c := w.Ch()
		line := windowLine{Name: c.Name, Why: w.Why}
		if w.Of.ID != x.ID {
			line.Name += ", " + w.Of.Mapping.Name
		}
		if w.Role.Is != "" {
			line.Is = w.Role.String()
		}
		if w.Content.Kind != "" {
			taken++
		}
		if st := w.Stats; st != nil {
			line.fill(st, c.Unit)
			if w.Unjoined != "" {
				v.Warnings = append(v.Warnings, c.Name+": "+w.Unjoined)
			}
			if w.Share != nil {
				line.Share = fmt.Sprintf("%s %%", quantity.FormatU(100*w.Share.Mean(), 100*w.Share.U, quantity.None))
			}
			for _, text := range st.Warnings {
				v.Warnings = append(v.Warnings, c.Name+": "+text)
			}
			if w.Channel == channel && w.Of.ID == x.ID {
				v.AllanOf = c.Name
				for _, p := range st.Allan {
					v.Allan = append(v.Allan, allanLine{quantity.Format(p.Tau, quantity.Second, 3), quantity.FormatU(p.Dev, p.U, c.Unit)})
				}
			}
		}
		v.Lines = append(v.Lines, line)
	}
	v.place(o, x, taken)
	return v, nil
}

func (l *windowLine) fill(st *trace.Stats, u quantity.Unit) {
	l.Mean = quantity.Format(st.Mean(), u, 6)
	if st.U > 0 && st.U-st.U == 0 {
		l.Mean = quantity.FormatU(st.Mean(), st.U, u)
		l.Naive = quantity.Format(st.UNaive, u, 2)
	}
	l.Scatter = quantity.Format(st.SD(), u, 2)
	l.Samples, l.Worth = strconv.FormatInt(st.N, 10), strconv.FormatFloat(st.Neff, 'f', 0, 64)
	if st.Batches.Count > 0 {
		l.Batches = quantity.Format(st.Batches.U, u, 2)
	}
	if st.Trend.U > 0 {
		l.Drift = quantity.FormatU(st.Trend.Change, st.Trend.U*st.Span, u)
	}
}

// place fills in where readings may go.
func (v *windowView) place(o *opened, x notebook.Trace, readings int) {
	switch {
	case readings == 0:
		v.Trouble = "No channel is a reading of the board yet: say below what they are."
	case len(o.Record.Study.Sittings) == 0:
		v.Trouble = "There is no sitting yet: begin one on the bench."
	}
	v.State = field{Name: "state", Label: "State the board was in", Kind: "select"}
	for _, st := range o.Record.Study.States {
		v.State.Options = append(v.State.Options, option{Value: st.Name, Label: st.Name})
	}
	v.Sitting = field{Name: "sitting", Label: "Sitting", Kind: "select"}
	for i := len(o.Record.Study.Sittings) - 1; i >= 0; i-- {
		sit := o.Record.Study.Sittings[i]
		v.Sitting.Options = append(v.Sitting.Options, option{Value: strconv.FormatInt(o.Record.SittingOf[sit], 10), Label: sit.Name})
	}
}

// windowPart sends the window's part of the page, as its edges move.
func (s *Server) windowPart(w http.ResponseWriter, r *http.Request) error {
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	from, ok1 := figureIn(q, "wfrom")
	to, ok2 := figureIn(q, "wto")
	channel, err := strconv.Atoi(q.Get("channel"))
	if !ok1 || !ok2 || err != nil {
		return badRequest("wfrom, wto and channel are wanted", "")
	}
	if !isHTMX(r) {
		return seeOther(w, r, at("studies", o.ID, "traces", x.ID)+"?"+url.Values{"channel": {q.Get("channel")}, "wfrom": {q.Get("wfrom")}, "wto": {q.Get("wto")}}.Encode()+"#window")
	}
	v, err := s.windowOf(r, o, x, channel, from, to)
	if err != nil {
		return err
	}
	return s.part(w, r, http.StatusOK, "trace", "window", v)
}

// takeWindow makes readings of a state of a window.
func (s *Server) takeWindow(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	o, x, err := s.traceOf(r)
	if err != nil {
		return err
	}
	from, ok1 := figureIn(r.PostForm, "wfrom")
	to, ok2 := figureIn(r.PostForm, "wto")
	sitting, err := strconv.ParseInt(f.Raw("sitting"), 10, 64)
	if !ok1 || !ok2 || err != nil {
		return badRequest("the form lacks its window or its sitting", "Load the page again.")
	}
	state := f.Raw("state")
	if o.Record.Study.State(state) == nil {
		return badRequest(fmt.Sprintf("the study has no state %q", state), "Load the page again.")
	}
	var named *study.Sitting
	for sit, id := range o.Record.SittingOf {
		if id == sitting {
			named = sit
		}
	}
	if named == nil {
		return badRequest("the study has no such sitting", "Load the page again.")
	}
	acks, err := s.nb.TakeWindow(r.Context(), x.ID, from, to, notebook.Place{Sitting: sitting, State: state, Zone: time.Local}, s.origin(r, ""))
	if err != nil {
		return err
	}
	flash(w, fmt.Sprintf("Kept %s of %s, from %s s to %s s of %s.", counted(len(acks)-1, "reading"), state, plainSeconds(from), plainSeconds(to), x.Mapping.Name))
	return seeOther(w, r, at("studies", o.ID, "traces", x.ID))
}
