package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"railtally/internal/cooling"
	"railtally/internal/cooling/heat"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

func (s *Server) coolingRoutes(rt *routes) {
	rt.tab(40, "Cooling", "cooling")
	rt.handle("GET /studies/{study}/cooling", s.showCooling)
	rt.handle("GET /studies/{study}/cooling/{board}/{point}", s.showCoolingPoint)
}

// coolingView is the page. Its address is its whole state: what is asked and what
// is tried stands behind the question mark, so that it can be linked and the back
// button takes a step back.
type coolingView struct {
	Path   string // of the form
	Boards []boardLink
	Board  string
	Empty  string // why there is nothing to show
	Groups []coolingGroup
	Live   *coolingLive
}

type boardLink struct {
	Name, Href string
	Here       bool
}

// coolingAsk is what an address asks.
type coolingAsk struct {
	form    *form
	board   string
	limitOf string // the temperature that the limit is of
	x       *askedCooling
	trial   *cooling.Trial // nil: nothing is tried, or it cannot be
	tried   bool           // something is
	refused bool           // and it cannot be
}

func (s *Server) showCooling(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	t, err := s.tallyOf(r.Context(), id)
	if err != nil {
		return err
	}
	v := &coolingView{Path: at("studies", id, "cooling")}
	if t.Tally == nil {
		v.Empty = "The plan is not complete yet, so there are no figures."
	} else if err := v.fill(id, t, r.URL.Query()); err != nil {
		return err
	}
	if isHTMX(r) && v.Live != nil {
		return s.part(w, r, http.StatusOK, "cooling", "cooling-answer", v)
	}
	return s.render(w, r, "cooling", page{Title: "Cooling", Study: t.opened(id), Tab: "cooling", Live: true,
		Styles: []string{"cooling.css"}, Scripts: []string{"cooling.js"}, Data: v})
}

// fill works out the page of one board.
func (v *coolingView) fill(id int64, t *tallied, query url.Values) error {
	boards := cooledBoards(t.desk.study)
	if len(boards) == 0 {
		v.Empty = "No temperature was read, and nothing is said of cooling."
		return nil
	}
	t.desk.mu.Lock()
	defer t.desk.mu.Unlock()
	a, err := t.desk.read(boards, query)
	if err != nil {
		return err
	}
	v.Board = a.board
	for _, b := range boards {
		v.Boards = append(v.Boards, boardLink{b, v.Path + "?" + url.Values{"board": {b}}.Encode(), b == a.board})
	}
	if a.x == nil {
		v.Empty = "No temperature of " + a.board + " was read beside a known power."
		return nil
	}
	v.Groups = a.groups()
	v.Live, err = a.live(id, v.Path)
	return err
}

// cooledBoards are the boards that have temperatures or a section on cooling.
func cooledBoards(s *study.Study) (out []string) {
	warm := map[string]bool{}
	for _, c := range s.Cooling {
		warm[c.Board] = true
	}
	for _, x := range s.Sittings {
		for _, st := range x.Steps {
			warm[x.Board] = warm[x.Board] || len(st.Temperatures) > 0
		}
	}
	for _, b := range s.Boards {
		if warm[b.Name] {
			out = append(out, b.Name)
		}
	}
	return out
}

// read understands an address. What cannot be understood or computed becomes a
// fault of its field, and what is asked goes on without it. Hold mu.
func (d *coolingDesk) read(boards []string, query url.Values) (*coolingAsk, error) {
	a := &coolingAsk{form: newForm(query), board: query.Get("board")}
	if !slices.Contains(boards, a.board) {
		a.board = boards[0]
	}
	opt := cooling.Options{Board: a.board}
	asked := []struct {
		name, bare string
		unit       quantity.Unit
		to         **quantity.Entry
	}{{"power", "W", quantity.Watt, &opt.Power}, {"room", "°C", quantity.Celsius, &opt.Room}, {"altitude", "m", quantity.Metre, &opt.Altitude}}
	for _, x := range asked {
		*x.to = a.form.Quantity(x.name, x.unit, x.bare)
	}
	if opt.Power != nil && !(opt.Power.Value() > 0) {
		a.form.Fault("power", "no power warms nothing", "a power above zero")
		opt.Power = nil
	}
	if e := a.form.Quantity("limit", quantity.Celsius, "°C"); e != nil {
		if x := e.Value(); x < study.ColdLimit || x > study.HotLimit {
			a.form.Fault("limit", quantity.Format(x, quantity.Celsius, 3)+" is no limit", fmt.Sprintf("%d to %d °C", study.ColdLimit, study.HotLimit))
		} else if a.limitOf = limitedPoint(d.study, a.board); a.limitOf != "" {
			opt.Limits = []*study.TempLimit{{Name: a.limitOf, Max: *e}}
		}
	}
	if a.limitOf == "" {
		a.limitOf = limitedPoint(d.study, a.board)
	}
	for {
		key := strings.Join([]string{a.board, entryKey(opt.Power), entryKey(opt.Room), entryKey(opt.Altitude), entryKey(limitIn(opt))}, "\x00")
		var err error
		a.x, err = d.ask(key, opt)
		var list heat.Problems
		if err == nil {
			break
		}
		if !errors.As(err, &list) {
			return nil, err
		}
		dropped := false
		for _, x := range asked {
			if f := problemOf(list, x.name); f != nil && *x.to != nil {
				a.form.Fault(x.name, f.Message, f.Accept)
				*x.to, dropped = nil, true
			}
		}
		if !dropped {
			return nil, err
		}
	}
	if a.x != nil {
		d.try(a)
	}
	return a, nil
}

// try tries what the address says of the sink.
func (d *coolingDesk) try(a *coolingAsk) {
	var list []cooling.Setting
	for _, key := range cooling.SettingKeys {
		if text := strings.TrimSpace(a.form.Raw(fieldOf(key))); text != "" {
			list = append(list, cooling.Setting{Key: key, Text: text})
		}
	}
	if a.tried = len(list) > 0; !a.tried {
		return
	}
	ch, bad := a.x.board.ChangeOf(list)
	for _, e := range bad {
		a.form.Wrong(fieldOf(e.Key), e.Problem)
	}
	if a.refused = len(bad) > 0; a.refused {
		return
	}
	var err error
	if a.trial, err = a.x.Try(a.x.board, ch); err == nil {
		return
	}
	a.refused = true
	var problems heat.Problems
	if errors.As(err, &problems) {
		for _, p := range problems {
			name := fieldOf(p.Field)
			if p.Field == "fins" && a.form.Raw("gap") != "" {
				name = "gap"
			}
			a.form.Fault(name, p.Message, p.Accept)
		}
		return
	}
	a.form.Wrong(fieldOf(list[0].Key), err)
}

// limitedPoint is the temperature that the page's one limit is of: the first that
// the study limits, else the case, else the first that was read.
func limitedPoint(s *study.Study, board string) string {
	how := s.CoolingOf(board)
	if how != nil && len(how.Limits) > 0 {
		return how.Limits[0].Name
	}
	first := ""
	for _, x := range s.Sittings {
		if x.Board != board {
			continue
		}
		for _, st := range x.Steps {
			for _, n := range st.Temperatures {
				if how.PointKind(n.Name) == study.CasePoint {
					return n.Name
				}
				if first == "" {
					first = n.Name
				}
			}
		}
	}
	return first
}

func limitIn(o cooling.Options) *quantity.Entry {
	if len(o.Limits) == 0 {
		return nil
	}
	return &o.Limits[0].Max
}

func entryKey(e *quantity.Entry) string {
	if e == nil {
		return ""
	}
	return e.String()
}

func problemOf(list heat.Problems, field string) *heat.Problem {
	for i, p := range list {
		if p.Field == field {
			return &list[i]
		}
	}
	return nil
}

// fieldOf is the name of a setting's field in an address.
func fieldOf(key string) string { return strings.ReplaceAll(key, " ", "-") }
