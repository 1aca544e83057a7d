package web

import (
	"context"
	"net/http"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// stateResults is one total, opened to its rails.
type stateResults struct {
	Open   any // for what stands in the template open-state
	Budget any
	Lanes  any
	Rails  []string // addresses of the rails, in the order of the open state
	Up     string
}

// resultsIn works out the results of the study that a path names. A study
// without results has nothing to open.
func (s *Server) resultsIn(r *http.Request) (int64, *tallied, error) {
	id, err := numberIn(r, "study")
	if err != nil {
		return 0, nil, err
	}
	t, err := s.tallyOf(r.Context(), id)
	if err == nil && t.Tally == nil {
		err = notFound("the study has no results, because its plan is not sound yet")
	}
	return id, t, err
}

// stateIn finds the state that a path names.
func (t *tallied) stateIn(r *http.Request, board, state string) (*tally.State, error) {
	on := study.StateOn{Board: nameIn(r, board), State: nameIn(r, state)}
	if x := t.Tally.State(on); x != nil {
		return x, nil
	}
	return nil, notFound("nothing was measured of " + on.String())
}

func (s *Server) showState(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	x, err := t.stateIn(r, "board", "state")
	if err != nil {
		return err
	}
	v, err := t.state(id, x)
	if err != nil {
		return err
	}
	return s.render(w, r, "results-state", page{Title: x.On().String(), Study: t.opened(id), Tab: "results", Live: true, Data: v})
}

func (t *tallied) state(id int64, x *tally.State) (*stateResults, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	v := &stateResults{Up: at("studies", id, "results")}
	var err error
	if v.Open, err = t.parts.State(x); err != nil {
		return nil, err
	}
	for _, r := range x.Rails {
		v.Rails = append(v.Rails, at("studies", id, "results", x.Board.Name, x.State.Name, r.Name))
	}
	if v.Lanes, err = t.parts.Lanes(x); err != nil {
		return nil, err
	}
	if x.Complete {
		v.Budget, err = t.parts.StateBudget(x)
	}
	return v, err
}

type railResults struct {
	Rail               any // for what stands in the template open-rail
	Voltage, Current   string
	Instruments        []any
	Up, UpName, Top    string
	Samples            []sampleLink
	Before, After      string // addresses of the neighbours; may be empty
	BeforeName, AfName string
}

func (s *Server) showRail(w http.ResponseWriter, r *http.Request) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	x, err := t.stateIn(r, "board", "state")
	if err != nil {
		return err
	}
	name := nameIn(r, "rail")
	n := -1
	for i, y := range x.Rails {
		if y.Name == name {
			n = i
		}
	}
	if n < 0 {
		return notFound("nothing was measured of the rail " + name + " in " + x.On().String())
	}
	up := at("studies", id, "results", x.Board.Name, x.State.Name)
	v := &railResults{Up: up, UpName: x.On().String(), Top: at("studies", id, "results")}
	if n > 0 {
		v.BeforeName, v.Before = x.Rails[n-1].Name, up+at(x.Rails[n-1].Name)
	}
	if n+1 < len(x.Rails) {
		v.AfName, v.After = x.Rails[n+1].Name, up+at(x.Rails[n+1].Name)
	}
	if v.Samples, err = s.samplesBehind(r.Context(), id, t.Study, x, name); err != nil {
		return err
	}
	y := x.Rails[n]
	v.Voltage = quantity.FormatU(y.Voltage.Estimate, y.Voltage.Expanded, quantity.Volt)
	if y.Bound == nil {
		v.Current = quantity.FormatU(y.Current.Estimate, y.Current.Expanded, quantity.Ampere)
	}
	t.mu.Lock()
	v.Rail, err = t.parts.Rail(x, x.Rails[n])
	if err == nil {
		v.Instruments = t.parts.Instruments(x, x.Rails[n])
	}
	t.mu.Unlock()
	if err != nil {
		return err
	}
	return s.render(w, r, "results-rail", page{Title: name + ", " + x.On().String(), Study: t.opened(id), Tab: "results", Live: true, Data: v})
}

// sampleLink leads from a reading to the samples that it was taken from.
type sampleLink struct{ What, From, Path string }

// samplesBehind finds the traces that the readings of a rail in one state come from.
func (s *Server) samplesBehind(ctx context.Context, id int64, st *study.Study, x *tally.State, rail string) (out []sampleLink, err error) {
	var names map[string]int64
	add := func(what, from string) {
		if from == "" || err != nil {
			return
		}
		if names == nil {
			if names, err = s.nb.TraceNames(ctx, id); err != nil {
				return
			}
		}
		out = append(out, sampleLink{what, from, samplesPath(id, names, from)})
	}
	for _, sit := range st.Sittings {
		if sit.Board != x.Board.Name {
			continue
		}
		for _, step := range sit.Steps {
			if step.State != x.State.Name {
				continue
			}
			if r := step.Reading(rail); r != nil {
				for _, c := range r.Current {
					add("Current, "+sit.Name, c.Reading.From)
				}
				if r.Voltage != nil {
					add("Voltage, "+sit.Name, r.Voltage.From)
				}
			}
		}
	}
	return out, err
}
