package web

import (
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// planNow returns the newest revision of a plan.
func planNow(t testing.TB, nb *notebook.Notebook, id int64) *notebook.Plan {
	t.Helper()
	p, err := nb.Plan(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func based(t testing.TB, nb *notebook.Notebook, id int64, v url.Values) url.Values {
	t.Helper()
	v.Set("based", strconv.FormatInt(planNow(t, nb, id).ID, 10))
	return v
}

// Every rail of the worked example, opened in its form and kept without a change,
// stays what it was: the forms lose nothing.
func TestRailFormKeepsAll(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	before := planNow(t, nb, id)
	for _, b := range before.Study.Boards {
		for _, r := range b.Rails {
			v := based(t, nb, id, railValues(r, false))
			contains(t, ask(t, s, "GET", at("studies", id, "plan", "boards", b.Name, "rails", r.Name), nil), 200, "Keep the rail")
			contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards", b.Name, "rails", r.Name), v), 303)
		}
	}
	if after := planNow(t, nb, id); after.Text != before.Text {
		t.Errorf("the plan became\n%s\nwant\n%s", after.Text, before.Text)
	}
}

// All kinds of tap, phases, a rail that hangs on another, other parts: typed into
// the form and read back.
func TestRailFormOfEveryKind(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	path := at("studies", id, "plan", "boards", "Otter", "rails", newRail)
	for name, x := range map[string]struct {
		form url.Values
		ok   func(*study.Rail) bool
	}{
		"sense": {url.Values{"way.0": {way(study.TapSense, "", "")}, "resistor.0": {"20 mΩ ±1 %"}, "feed": {"sense resistor"}},
			func(r *study.Rail) bool {
				return r.Taps[0].Resistor.Resistance.Value() == 0.02 && r.Feed == study.SenseResistor
			}},
		"winding": {url.Values{"way.0": {way(study.TapInductor, "", "")}, "resistor.0": {"1,2 mΩ ±8 %"}, "resistorref.0": {"25"}, "winding.0": {"45 ± 5"}, "converter": {"buck"}},
			func(r *study.Rail) bool { return r.Taps[0].WindingRef == 25 && r.Taps[0].Winding.Value() == 45 }},
		"phased": {url.Values{"phase.0": {"left"}, "way.0": {way(study.TapClamp, "red clamp", "low")}, "phase.1": {"right"}, "way.1": {way(study.TapClamp, "red clamp", "low")}, "turns.1": {"2 x"}, "reversed.1": {"yes"}},
			func(r *study.Rail) bool {
				return len(r.Taps) == 2 && r.Taps[1].Name == "right" && r.Taps[1].Turns == 2 && r.Taps[1].Reversed
			}},
		"hanging": {url.Values{"way.0": {way(study.TapClamp, "red clamp", "low")}, "parent": {"link"}, "through": {"converter"}, "efficiency": {"85..92 %"}, "others": {"clock chip: 8..14 mA\nlamp: 5 ± 1"}},
			func(r *study.Rail) bool {
				return r.From.Rail == "link" && r.From.Efficiency.Values[0] == 0.85 && len(r.Others) == 2 && r.Others[1].Draws.Value() == 0.005
			}},
		"opening": {url.Values{"way.0": {way(study.TapClamp, "red clamp", "low")}, "feed": {"inductor leg"}, "o.side": {"capacitor side"}, "o.feedback": {"behind the loop"},
			"o.sensing": {"none"}, "o.phases": {"2"}, "o.winding": {"1.2"}, "o.inductor": {"1 µH"}, "o.step": {"2 A"}, "o.steptime": {"1 us"}, "o.capacitor": {"22"}, "o.load": {"switching"}},
			func(r *study.Rail) bool {
				o := r.Opening
				return o != nil && o.Side == study.CapacitorSide && o.Feedback == study.BehindLoop && o.Sensing == study.NoWindingSense && o.Phases == 2 && o.Load == study.SwitchingLoad &&
					math.Abs(o.Winding.Value()/1.2e-3-1) < 1e-9 && o.Step.Value() == 2 && math.Abs(o.StepTime.Value()/1e-6-1) < 1e-9 && math.Abs(o.Capacitor.Value()/22e-6-1) < 1e-9
			}},
		"checking": {url.Values{"way.0": {way(study.TapClamp, "blue clamp", "fine")}, "checks": {"core"}},
			func(r *study.Rail) bool { return r.Checks == "core" && r.Aside }},
		"supplying": {url.Values{"way.0": {way(study.TapClamp, "red clamp", "low")}, "input": {"yes"}, "feeds": {" core \r\n\r\nlink"}, "inputefficiency": {"80..95"}},
			func(r *study.Rail) bool {
				return slices.Equal(r.Feeds, []string{"core", "link"}) && r.Efficiency.Values[0] == 0.8
			}},
		"bounded": {url.Values{"way.0": {notOpened}, "bound": {"<25"}},
			func(r *study.Rail) bool { return len(r.Taps) == 0 && r.Bound.Values[1] == 0.025 }},
		"upstream": {url.Values{"way.0": {way(study.TapClamp, "red clamp", "low")}, "input": {"yes"}, "loop.0": {"60 mm 0.5 mm²"}},
			func(r *study.Rail) bool { return r.Taps[0].Loop.Length == 0.06 }},
	} {
		x.form.Set("name", name)
		x.form.Set("nominal", "3,3 V ±5 %")
		contains(t, ask(t, s, "POST", path, based(t, nb, id, x.form)), 303)
		b := planNow(t, nb, id).Study.Board("Otter")
		r := b.Rail(name)
		if r == nil || !x.ok(r) {
			t.Errorf("%s: %+v", name, r)
			continue
		}
		input := x.form.Get("input") != ""
		if slices.Contains(b.Inputs, r) != input {
			t.Errorf("%s is among the wrong rails", name)
		}
		// Kept once more without a change it stays what it is.
		text := planNow(t, nb, id).Text
		contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards", "Otter", "rails", name), based(t, nb, id, railValues(r, input))), 303)
		if planNow(t, nb, id).Text != text {
			t.Errorf("%s: the form loses something:\n%s\nwas\n%s", name, planNow(t, nb, id).Text, text)
		}
	}
}

// Wrong fields are explained beside themselves, nothing is kept, and what was
// typed is there again.
func TestRailFormFaults(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	path := at("studies", id, "plan", "boards", "Otter", "rails", newRail)
	before := planNow(t, nb, id).ID
	for name, x := range map[string]struct {
		form url.Values
		says []string
	}{
		"nothing":      {url.Values{}, []string{"this is needed", "a rail has a nominal voltage"}},
		"a weight":     {url.Values{"name": {"x"}, "nominal": {"3 kg"}}, []string{`value="3 kg"`, "V, mV, µV, kV"}},
		"a name twice": {url.Values{"name": {"core"}, "nominal": {"1 V"}}, []string{"another is called that already"}},
		"no bound":     {url.Values{"name": {"x"}, "nominal": {"1 V"}, "way.0": {notOpened}}, []string{"between which currents"}},
		"half a step":  {url.Values{"name": {"x"}, "nominal": {"1 V"}, "o.step": {"2 A"}}, []string{"a step and its time go together"}},
		"no inductor":  {url.Values{"name": {"x"}, "nominal": {"1 V"}, "feed": {"bead"}, "o.side": {"switch side"}}, []string{"only an inductor has such legs"}},
		"no farads":    {url.Values{"name": {"x"}, "nominal": {"1 V"}, "o.capacitor": {"22 V"}}, []string{`value="22 V"`, "Accepted"}},
		"phases":       {url.Values{"name": {"x"}, "nominal": {"1 V"}, "o.phases": {"0"}}, []string{"1 to 32"}},
		"no such rail": {url.Values{"name": {"x"}, "nominal": {"1 V"}, "input": {"yes"}, "feeds": {"cores"}}, []string{"the board has no rail called cores"}},
		"no input":     {url.Values{"name": {"x"}, "nominal": {"1 V"}, "feeds": {"core"}}, []string{"only an input"}},
		"no turns":     {url.Values{"name": {"x"}, "nominal": {"1 V"}, "way.0": {way(study.TapClamp, "red clamp", "low")}, "turns.0": {"many"}}, []string{`value="many"`, "no number of turns"}},
		"no wire":      {url.Values{"name": {"x"}, "nominal": {"1 V"}, "way.0": {way(study.TapClamp, "red clamp", "low")}, "loop.0": {"long"}}, []string{`value="long"`}},
	} {
		w := ask(t, s, "POST", path, based(t, nb, id, x.form))
		contains(t, w, 422, append(x.says, "fault")...)
		if t.Failed() {
			t.Fatalf("at %s", name)
		}
	}
	if after := planNow(t, nb, id).ID; after != before {
		t.Error("a form with faults was kept")
	}
}

// Two people change the plan: the second is told, keeps what was typed, and sends
// it again on top of the first.
func TestPlanConflict(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	rail := planNow(t, nb, id).Study.Board("Otter").Rail("core")
	first, second := based(t, nb, id, railValues(rail, false)), based(t, nb, id, railValues(rail, false))
	first.Set("note", "lift the left leg")
	second.Set("nominal", "0.96 V ±3 %")
	path := at("studies", id, "plan", "boards", "Otter", "rails", "core")
	contains(t, ask(t, s, "POST", path, first), 303)
	contains(t, ask(t, s, "POST", path, second), 422, "The plan was changed meanwhile", `value="0.96 V ±3 %"`)
	contains(t, ask(t, s, "POST", path, based(t, nb, id, second)), 303)
	if r := planNow(t, nb, id).Study.Board("Otter").Rail("core"); entryText(&r.Nominal) != "0.96 V ±3 %" {
		t.Errorf("nominal %s", entryText(&r.Nominal))
	}
}

// A rail, a state and a board get other names, and what was read follows; undo
// takes it back.
func TestRenamesFollow(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	v := based(t, nb, id, railValues(planNow(t, nb, id).Study.Board("Otter").Rail("core"), false))
	v.Set("name", "heart")
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards", "Otter", "rails", "core"), v), 303)
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards", "Otter"), based(t, nb, id, url.Values{"name": {"Stoat"}, "chip": {"second-generation bridge"}})), 303)
	x, err := nb.Study(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if faults := study.Check(x); len(faults) > 0 {
		t.Fatalf("after renaming: %v", faults)
	}
	for _, sitting := range x.Sittings {
		if sitting.Board == "Otter" {
			t.Errorf("%s is still of Otter", sitting.Name)
		}
		if sitting.Board == "Stoat" && sitting.Steps[len(sitting.Steps)-2].Reading("heart") == nil {
			t.Errorf("%s has no reading of heart", sitting.Name)
		}
	}
	if n := len(x.Claims); n == 0 || len(x.Comparisons) == 0 {
		t.Errorf("%d claims are left", n)
	}
	for range 2 {
		contains(t, ask(t, s, "POST", at("studies", id, "plan", "undo"), based(t, nb, id, url.Values{})), 303)
	}
	if planNow(t, nb, id).Study.Board("Otter") == nil {
		t.Error("undo brought nothing back")
	}
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "undo"), based(t, nb, id, url.Values{"redo": {"yes"}})), 303)
	contains(t, ask(t, s, "GET", at("studies", id, "plan"), nil), 200, "Redo", "redo", "undo")
}

// States as a grid: what is struck out is not there, names and order are kept,
// and factors that change keep the levels that remain.
func TestStatesAsAGrid(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	p, err := nb.NewStudy(t.Context(), emptyPlan("Which state costs what?"), notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	id := p.StudyID
	factors := at("studies", id, "plan", "factors")
	contains(t, ask(t, s, "POST", factors, based(t, nb, id, url.Values{"name.0": {"drives"}, "levels.0": {""}})), 422, "a factor has levels")
	contains(t, ask(t, s, "POST", factors, based(t, nb, id, url.Values{"name.0": {"drives"}, "levels.0": {"0, 1 , 4,"}, "name.1": {"load"}, "levels.1": {"none,copy"}})), 303)
	rows := combinations(planNow(t, nb, id).Study)
	if len(rows) != 6 || rows[3].Name != "1 copy" || !rows[3].Measure {
		t.Fatalf("rows %+v", rows)
	}
	v := url.Values{}
	for i, r := range rows {
		k := "." + strconv.Itoa(i)
		v.Set("levels"+k, r.LevelsText)
		v.Set("name"+k, r.Name)
		v.Set("was"+k, "")
		if i != 1 { // nothing is copied without a drive
			v.Set("measure"+k, "yes")
		}
	}
	v.Set("name.0", "bare")
	v.Set("place.5", "0.5") // four drives, copying, first of all
	v.Set("name.4", "Bare")
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "states"), based(t, nb, id, v)), 422, "another state is called that", `value="bare"`)
	v.Set("name.4", "four idle")
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "states"), based(t, nb, id, v)), 303)
	var names []string
	for _, st := range planNow(t, nb, id).Study.States {
		names = append(names, st.Name+"="+settingsOf(st))
	}
	want := "4 copy=drives 4 · load copy|bare=drives 0 · load none|1 none=drives 1 · load none|1 copy=drives 1 · load copy|four idle=drives 4 · load none"
	if got := strings.Join(names, "|"); got != want {
		t.Errorf("states %s\n  want %s", got, want)
	}
	page := ask(t, s, "GET", at("studies", id, "plan", "states"), nil)
	contains(t, page, 200, "struck", "0 copy")
	contains(t, ask(t, s, "POST", factors, based(t, nb, id, url.Values{"name.0": {"disks"}, "levels.0": {"0, 1, 4"}, "name.1": {"load"}, "levels.1": {"none, copy"}})), 303)
	if st := planNow(t, nb, id).Study.State("four idle"); st == nil || st.Level("disks") != "4" {
		t.Errorf("after renaming a factor: %+v", st)
	}
}

// The question's form, and instruments from the shelf.
func TestPlanOfAStudy(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	path := at("studies", id, "plan", "question")
	contains(t, ask(t, s, "POST", path, based(t, nb, id, url.Values{"question": {"Less?"}, "level": {"120"}, "equalwithin": {"some"}})), 422, `value="some"`, "50 % to 99.99 %")
	contains(t, ask(t, s, "POST", path, based(t, nb, id, url.Values{"question": {"Less?"}, "level": {"99"}, "equalwithin": {"0,05"}, "stalezero": {"20"}, "remark": {"two\nlines"}})), 303)
	p := planNow(t, nb, id)
	if p.Study.Question != "Less?" || p.Study.Level != 0.99 || p.Study.EqualWithin.Value() != 0.05 || p.Study.StaleZero.Value() != 1200 || p.Study.Note == "" || p.Draft {
		t.Errorf("plan %+v", p.Study)
	}
	fillShelf(t, nb, p.Accepted)
	contains(t, ask(t, s, "GET", at("studies", id, "plan"), nil), 200, "io shunt 1", "Take into the plan")
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "instruments"), based(t, nb, id, url.Values{"take": {"io shunt 1"}})), 303)
	if planNow(t, nb, id).Study.Instrument("io shunt 1") == nil {
		t.Error("the instrument did not come from the shelf")
	}
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "instruments"), based(t, nb, id, url.Values{"out": {"io shunt 1"}})), 303)
	if planNow(t, nb, id).Study.Instrument("io shunt 1") != nil {
		t.Error("the instrument is still there")
	}
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards"), based(t, nb, id, url.Values{"name": {"Otter 2"}, "like": {"Otter"}})), 303)
	if b := planNow(t, nb, id).Study.Board("Otter 2"); b == nil || len(b.Rails) != 6 {
		t.Errorf("board like another: %+v", b)
	}
	contains(t, ask(t, s, "POST", at("studies", id, "plan", "boards", "Otter 2"), based(t, nb, id, url.Values{"remove": {"yes"}})), 303)
	if planNow(t, nb, id).Study.Board("Otter 2") != nil {
		t.Error("the board is still there")
	}
}
