package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// statesForm is the page of factors and states.
type statesForm struct {
	Study, Revision int64
	Factors         []factorRow
	Heads           []string // names of the factors
	Rows            []stateRow
	Problem         *problem
	Fault           *fieldFault
	Kept            int
}

type factorRow struct {
	I            int
	Name, Levels field
}

// stateRow is one combination of levels: measured, or struck out.
type stateRow struct {
	I          int
	Levels     []string
	LevelsText string // as the form sends them back
	Was        string // the state's name in the plan; empty when it is not there
	Measure    bool
	Name, Note string
	Fault      *fieldFault
}

// mostCombinations bounds the grid of levels.
const mostCombinations = 240

func (s *Server) showStates(w http.ResponseWriter, r *http.Request) error {
	return s.statesPage(w, r, nil, nil, nil, nil)
}

// statesPage shows factors and states. factors and typed hold what was not
// accepted.
func (s *Server) statesPage(w http.ResponseWriter, r *http.Request, factors *form, typed []stateRow, fault *fieldFault, trouble *problem) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	rec, err := s.nb.Record(r.Context(), id)
	if err != nil {
		return err
	}
	plan := rec.Plan.Study
	v := &statesForm{Study: id, Revision: rec.Plan.ID, Problem: trouble, Fault: fault, Rows: typed, Kept: len(plan.States)}
	status := http.StatusOK
	if typed != nil || factors != nil || trouble != nil {
		status = http.StatusUnprocessableEntity
	}
	if factors == nil {
		factors = newForm(nil)
		for i, f := range plan.Factors {
			k := "." + strconv.Itoa(i)
			factors.values.Set("name"+k, f.Name)
			factors.values.Set("levels"+k, strings.Join(f.Levels, ", "))
		}
	}
	n := len(plan.Factors)
	for i := range max(n+2, 3) {
		k := "." + strconv.Itoa(i)
		if i >= n+2 && factors.Raw("name"+k) == "" {
			break
		}
		row := factorRow{i, field{Name: "name" + k, Label: "Factor", Required: i < n}, field{Name: "levels" + k, Label: "Levels", Required: i < n}}
		if i == 0 {
			row.Name.Hint, row.Levels.Hint = "drives, load, link", "0, 1, 4"
		}
		row.Name, row.Levels = factors.fill(row.Name), factors.fill(row.Levels)
		v.Factors = append(v.Factors, row)
	}
	for _, f := range plan.Factors {
		v.Heads = append(v.Heads, f.Name)
	}
	if v.Rows == nil {
		v.Rows = combinations(plan)
	}
	return s.render(w, r, "plan-states", page{Status: status, Title: "States", Study: openedFrom(id, rec), Tab: "plan",
		Styles: []string{"bench.css", "plan.css"}, Scripts: []string{"plan.js"}, Data: v})
}

// combinations lists the states of a plan and then every other combination of
// its factors' levels. Where there are no states yet every combination is
// proposed; otherwise those that are not there are struck out.
func combinations(p *study.Study) []stateRow {
	var rows []stateRow
	add := func(r stateRow) {
		r.I, r.LevelsText = len(rows), listed(r.Levels...)
		rows = append(rows, r)
	}
	seen := map[string]bool{}
	for _, st := range p.States {
		levels := make([]string, len(p.Factors))
		for i, f := range p.Factors {
			levels[i] = st.Level(f.Name)
		}
		seen[listed(levels...)] = true
		add(stateRow{Levels: levels, Was: st.Name, Measure: true, Name: st.Name, Note: st.Note})
	}
	if len(p.Factors) == 0 {
		for range 3 {
			add(stateRow{Measure: len(p.States) == 0})
		}
		return rows
	}
	count := 1
	for _, f := range p.Factors {
		count *= max(1, len(f.Levels))
		if count > mostCombinations {
			return rows
		}
	}
	for i := range count {
		levels := make([]string, len(p.Factors))
		rest := i
		for j := len(p.Factors) - 1; j >= 0; j-- {
			if n := len(p.Factors[j].Levels); n > 0 {
				levels[j] = p.Factors[j].Levels[rest%n]
				rest /= n
			}
		}
		if !seen[listed(levels...)] {
			add(stateRow{Levels: levels, Measure: len(p.States) == 0, Name: strings.Join(levels, " ")})
		}
	}
	return rows
}

// saveFactors keeps the factors. States keep the levels that are still there.
func (s *Server) saveFactors(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	var factors []*study.Factor
	was := map[string]string{} // new name by the old
	old, err := s.nb.Plan(r.Context(), id)
	if err != nil {
		return err
	}
	for i := range 50 {
		k := "." + strconv.Itoa(i)
		name := f.Text("name"+k, false)
		var levels []string
		for _, l := range strings.Split(f.Raw("levels"+k), ",") {
			if l = strings.Join(strings.Fields(l), " "); l != "" && !slices.Contains(levels, l) {
				levels = append(levels, l)
			}
		}
		if name == "" && len(levels) == 0 {
			continue
		}
		if name == "" {
			f.Fault("name"+k, "what are these levels of?", "")
		}
		if len(levels) == 0 {
			f.Fault("levels"+k, "a factor has levels", "0, 1, 4, set apart by commas")
		}
		x := &study.Factor{}
		if i < len(old.Study.Factors) {
			was[old.Study.Factors[i].Name] = name
			*x = *old.Study.Factors[i]
		}
		x.Name, x.Levels = name, levels
		factors = append(factors, x)
	}
	return s.revise(w, r, f, "factors", func(p *study.Study) error {
		p.Factors = factors
		for _, st := range p.States {
			var levels []study.Level
			for _, x := range factors {
				value := ""
				for _, l := range st.Levels {
					if was[l.Factor] == x.Name && slices.Contains(x.Levels, l.Value) {
						value = l.Value
					}
				}
				if value == "" && len(x.Levels) > 0 {
					value = x.Levels[0]
				}
				levels = append(levels, study.Level{Factor: x.Name, Value: value})
			}
			st.Levels = levels
		}
		renamed(p, names{factors: was})
		dropDangling(p)
		return nil
	}, func(p *problem) error { return s.statesPage(w, r, f, nil, nil, p) }, at("studies", id, "plan", "states"))
}

// saveStates keeps the combinations that are to be measured, in the order in
// which they stand.
func (s *Server) saveStates(w http.ResponseWriter, r *http.Request) error {
	id, plan, err := s.planOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	rows := readStates(f)
	var renames []notebook.Rename
	var states []*study.State
	taken := map[string]bool{}
	for i := range rows {
		x := &rows[i]
		if !x.Measure {
			continue
		}
		if x.Name == "" && len(plan.Study.Factors) == 0 && x.Was == "" {
			continue
		}
		switch {
		case x.Name == "":
			x.Fault = &fieldFault{"a state has a name", ""}
		case taken[strings.ToLower(x.Name)]:
			x.Fault = &fieldFault{"another state is called that", "another name"}
		}
		taken[strings.ToLower(x.Name)] = true
		if x.Fault != nil {
			f.Fault("states", x.Fault.Message, x.Fault.Accept)
		}
		st := &study.State{}
		if old := plan.Study.State(x.Was); old != nil {
			*st = *old // what the grid does not ask for stays
		}
		st.Name, st.Note, st.Levels = x.Name, x.Note, nil
		for j, factor := range plan.Study.Factors {
			if j < len(x.Levels) {
				st.Levels = append(st.Levels, study.Level{Factor: factor.Name, Value: x.Levels[j]})
			}
		}
		if x.Was != "" && x.Was != x.Name {
			renames = append(renames, notebook.Rename{What: notebook.NamedState, From: x.Was, To: x.Name})
		}
		states = append(states, st)
	}
	return s.revise(w, r, f, "states", func(p *study.Study) error {
		p.States = states
		to := map[string]string{}
		for _, x := range renames {
			to[x.From] = x.To
		}
		renamed(p, names{states: to})
		dropDangling(p)
		return nil
	}, func(p *problem) error { return s.statesPage(w, r, nil, rows, f.fault("states"), p) }, at("studies", id, "plan"), renames...)
}

// readStates reads the rows of the grid, sorted by the place that each was given.
func readStates(f *form) []stateRow {
	var rows []stateRow
	place := map[int]float64{}
	for i := range mostCombinations * 2 {
		k := "." + strconv.Itoa(i)
		if _, sent := f.values["name"+k]; !sent {
			break
		}
		x := stateRow{I: i, LevelsText: f.Raw("levels" + k), Was: f.Raw("was" + k), Measure: f.Checked("measure" + k),
			Name: f.Text("name"+k, false), Note: f.Text("note"+k, false)}
		// Rows without factors hold no levels.
		_ = json.Unmarshal([]byte(x.LevelsText), &x.Levels)
		place[i] = float64(i + 1)
		if at, err := strconv.ParseFloat(strings.TrimSpace(f.Raw("place"+k)), 64); err == nil {
			place[i] = at
		}
		rows = append(rows, x)
	}
	slices.SortStableFunc(rows, func(a, b stateRow) int {
		switch x, y := place[a.I], place[b.I]; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	for i := range rows {
		rows[i].I = i
	}
	return rows
}
