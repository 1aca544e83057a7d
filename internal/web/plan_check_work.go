package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"railtally/internal/plan"
	"railtally/internal/study"
)

// workView is how the work is to be done, and the order of states.
type workView struct {
	Fields      []field
	Boards      []orderBoard
	All, Taking string
	Seed        uint64
	Chosen      bool // the bench follows it
	Steps       []workPhase
}

type orderBoard struct {
	Name   string
	States []orderState
	Locked bool
	Takes  string
}

type orderState struct {
	Name, Settings string
	Key            string // of its buttons' identifiers
	Pinned         bool
	First, Last    bool
}

type workPhase struct {
	Title, Takes string
	Tasks        []workTask
}

type workTask struct {
	Text     string
	Takes    string
	Proof    bool
	Cautions []string
}

// yesNo are the choices of a question that may be left to the program.
func yesNo(standard bool) []option {
	word := map[bool]string{true: "yes", false: "no"}
	return []option{{Label: "as usual: " + word[standard]}, {Value: "yes", Label: "yes"}, {Value: "no", Label: "no"}}
}

func workOf(f *form, x *foreseen) *workView {
	d := plan.DefaultScheme()
	v := &workView{Chosen: plan.Planned(x.study), Seed: plan.SeedOf(x.study)}
	if _, typed := f.values["working"]; !typed && x.study.Work != nil {
		w := x.study.Work
		number := func(name string, n int) {
			if n > 0 {
				f.values.Set(name, strconv.Itoa(n))
			}
		}
		tossed := func(name string, b *bool) {
			if b != nil {
				f.values.Set(name, map[bool]string{true: "yes", false: "no"}[*b])
			}
		}
		if w.StatesPerZero != nil {
			f.values.Set("statesperzero", strconv.Itoa(*w.StatesPerZero))
		}
		number("repeats", w.Repeats)
		number("passes", w.Passes)
		number("sittings", w.Sittings)
		tossed("closingzero", w.ClosingZero)
		tossed("bystate", w.ByState)
		tossed("firstagain", w.FirstAgain)
	}
	usually := func(n int) string { return strconv.Itoa(n) + " unless said." }
	v.Fields = []field{
		f.fill(field{Name: "statesperzero", Label: "States between two zeros", Mode: "numeric", Hint: usually(d.StatesPerZero) + " 0: one zero at the start."}),
		f.fill(field{Name: "closingzero", Label: "A zero after the last state", Kind: "select", Options: yesNo(d.ClosingZero)}),
		f.fill(field{Name: "repeats", Label: "Readings of a display that does not stand still", Mode: "numeric", Hint: usually(d.Repeats)}),
		f.fill(field{Name: "passes", Label: "Times through the states", Mode: "numeric", Hint: usually(d.Passes) + " Every second time backwards."}),
		f.fill(field{Name: "sittings", Label: "Days", Mode: "numeric", Hint: usually(d.Sittings) + " Clamps are put on anew each day."}),
		f.fill(field{Name: "bystate", Label: "All rails in a state before the next", Kind: "select", Options: yesNo(d.ByState)}),
		f.fill(field{Name: "firstagain", Label: "First rail once more at the end", Kind: "select", Options: yesNo(d.FirstAgain)}),
	}
	if x.plan == nil {
		return v
	}
	all, taking := x.plan.Takes()
	v.All, v.Taking = plan.Minutes(all), plan.Minutes(taking)
	for _, b := range x.plan.Boards {
		o := orderBoard{Name: b.Name, Takes: plan.Minutes(b.Takes), Locked: true}
		pinned := map[string]bool{}
		for _, t := range x.study.Turns(b.Name) {
			pinned[t.State] = t.Pinned
		}
		for i, name := range b.Order {
			o.States = append(o.States, orderState{Name: name, Key: url.QueryEscape(b.Name + "/" + name), Settings: settingsOf(x.study.State(name)), Pinned: pinned[name], First: i == 0, Last: i == len(b.Order)-1})
			o.Locked = o.Locked && pinned[name]
		}
		v.Boards = append(v.Boards, o)
	}
	v.Steps = phasesOf(x.plan)
	return v
}

// saveWork keeps how the work is to be done.
func (c *planChecks) saveWork(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if f.Checked("forget") {
		return c.keep(w, r, newFormFrom(f), "order of work left to the bench", "order", func(s *study.Study) error {
			s.Work, s.Order = nil, nil
			return nil
		})
	}
	work := &study.Work{}
	number := func(name string, lo, hi int) int {
		text := f.Text(name, false)
		if text == "" {
			return -1
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < lo || n > hi {
			f.Fault(name, text+" is no such number", strconv.Itoa(lo)+" to "+strconv.Itoa(hi))
			return -1
		}
		return n
	}
	tossed := func(name string) *bool {
		switch f.Raw(name) {
		case "yes":
			return new(true)
		case "no":
			return new(false)
		}
		return nil
	}
	if n := number("statesperzero", 0, 1000); n >= 0 {
		work.StatesPerZero = &n
	}
	work.Repeats, work.Passes, work.Sittings = max(0, number("repeats", 1, 1000)), max(0, number("passes", 1, 20)), max(0, number("sittings", 1, 50))
	work.ClosingZero, work.ByState, work.FirstAgain = tossed("closingzero"), tossed("bystate"), tossed("firstagain")
	return c.keep(w, r, f, "how the work is done", "order", func(s *study.Study) error {
		if s.Work != nil {
			work.Seed = s.Work.Seed
		}
		s.Work = work
		chooseOrders(s)
		return nil
	})
}

// phasesOf gathers the work by board and phase, with its cautions.
func phasesOf(p *plan.Plan) (out []workPhase) {
	var phase *workPhase
	last := ""
	var takes time.Duration
	for _, t := range p.Work {
		if title := t.Board + ", " + t.Phase; phase == nil || title != last {
			out = append(out, workPhase{Title: title})
			phase, last, takes = &out[len(out)-1], title, 0
		}
		takes += t.Takes
		phase.Takes = plan.Minutes(takes)
		x := workTask{Text: t.Text, Takes: plan.Minutes(t.Takes), Proof: t.Proof != ""}
		for _, k := range t.Cautions {
			x.Cautions = append(x.Cautions, k.Short())
		}
		phase.Tasks = append(phase.Tasks, x)
	}
	return out
}

// chooseOrders writes down the order of states that each board has now, where none
// was chosen, so that it stays when aims or states are added.
func chooseOrders(s *study.Study) {
	for _, b := range s.Boards {
		if len(s.Turns(b.Name)) > 0 {
			continue
		}
		for _, st := range plan.OrderOf(s, b.Name) {
			s.Order = append(s.Order, &study.Turn{Board: b.Name, State: st})
		}
	}
}

// saveOrder moves a state of a board up or down, pins or unpins it, locks or
// unlocks all of them, or orders those that are not pinned anew.
func (c *planChecks) saveOrder(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	board := f.Raw("board")
	what, state, _ := strings.Cut(f.Raw("do"), " ")
	words := map[string]string{"up": "earlier", "down": "later", "pin": "pinned", "unpin": "not pinned", "lock": "locked", "unlock": "unlocked", "anew": "ordered anew"}
	why := "order of " + board + ": " + strings.TrimSpace(state+" "+words[what])
	return c.keepInPlace(w, r, f, why, func(s *study.Study) error {
		if s.Board(board) == nil || words[what] == "" {
			return badRequest("the plan has no such order", "Load the page again.")
		}
		chooseOrders(s)
		turns := s.Turns(board)
		for _, st := range s.States { // states that were added behind a chosen order
			if !slices.ContainsFunc(turns, func(t *study.Turn) bool { return t.State == st.Name }) {
				turns = append(turns, &study.Turn{Board: board, State: st.Name})
			}
		}
		i := slices.IndexFunc(turns, func(t *study.Turn) bool { return t.State == state })
		if i < 0 && (what == "up" || what == "down" || what == "pin" || what == "unpin") {
			return badRequest("the board has no such state", "Load the page again.")
		}
		switch what {
		case "up", "down":
			j := i + 1
			if what == "up" {
				j = i - 1
			}
			if j >= 0 && j < len(turns) {
				turns[i], turns[j] = turns[j], turns[i]
			}
		case "pin", "unpin":
			turns[i].Pinned = what == "pin"
		case "lock", "unlock":
			for _, t := range turns {
				t.Pinned = what == "lock"
			}
		case "anew":
			seed := int64(plan.SeedOf(s)) + 1
			if s.Work == nil {
				s.Work = &study.Work{}
			}
			s.Work.Seed = &seed
			s.Order = slices.Concat(others(s.Order, board), turns)
			turns = plan.OrderAnew(s, board, uint64(seed))
		}
		s.Order = slices.Concat(others(s.Order, board), turns)
		return nil
	})
}

// keepInPlace is keep for buttons of the order of work: a script gets the order and
// what depends on it anew, so that nothing moves under the hand.
func (c *planChecks) keepInPlace(w http.ResponseWriter, r *http.Request, f *form, why string, edit func(*study.Study) error) error {
	if !isHTMX(r) {
		return c.keep(w, r, f, why, "order", edit)
	}
	again := func(*problem) error { // somebody was faster: the whole page is fetched
		w.Header().Set("HX-Refresh", "true")
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	return c.s.reviseThen(r, f, why, edit, again, func(id int64) error {
		x, err := c.asKept(r.Context(), id)
		if err != nil {
			return err
		}
		v := &checksView{Study: id, Revision: x.rec.Plan.ID, Work: workOf(newForm(nil), x), Aims: aimsOf(id, x, nil), Search: c.searchOf(id, x.rec.LastChange)}
		return c.s.part(w, r, http.StatusOK, "plan-check", "plan-check-reordered", v)
	})
}

// others are the turns of the other boards.
func others(all []*study.Turn, board string) (out []*study.Turn) {
	for _, t := range all {
		if t.Board != board {
			out = append(out, t)
		}
	}
	return out
}
