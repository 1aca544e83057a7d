package web

import (
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// askPart asks as htmx does.
func askPart(t testing.TB, s *Server, method, path string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("HX-Request", "true")
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// unreadExample is the worked example without its sittings, as it was before
// anything was opened.
func unreadExample(t testing.TB) (*Server, *notebook.Notebook, int64) {
	t.Helper()
	nb := newNotebook(t)
	full := importExample(t, nb)
	p, err := nb.Plan(t.Context(), full)
	if err != nil {
		t.Fatal(err)
	}
	p.Study.Question = "What will the newer bridge chip draw?"
	made, err := nb.Import(t.Context(), p.Study, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return newServer(t, nb), nb, made.StudyID
}

// railTyped is the form of Otter's link rail as a person types it.
func railTyped(t testing.TB, nb *notebook.Notebook, id int64, over url.Values) url.Values {
	t.Helper()
	b := planNow(t, nb, id).Study.Board("Otter")
	v := railValues(b.Rail("link"), false)
	for k, x := range over {
		v[k] = x
	}
	return v
}

// The page says of the worked example what its plan says, figure for figure.
func TestPlanCheckPage(t *testing.T) {
	s, nb, id := unreadExample(t)
	w := ask(t, s, "GET", at("studies", id, "plan", "checks"), nil)
	contains(t, w, 200, "Otter four-busy against Marten four-busy", "What would help", "Rails of Otter", "As expected in four-busy", "Order of work", "Put a resistor of about")
	p, err := plan.Make(t.Context(), planNow(t, nb, id).Study, plan.Options{Seed: 1, NoAdvice: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range p.Counsels {
		contains(t, w, 200, figureOnPage(c), c.Verdict())
	}
	contains(t, askPart(t, s, "GET", at("studies", id, "plan", "checks", "summary"), nil), 200, p.Counsels[0].Target.Name())
}

func figureOnPage(c plan.Counsel) string {
	return figureText(c.Figure, quantity.Watt)
}

// While a rail is typed its checks come at once, also of nonsense, and nothing is
// kept.
func TestPlanCheckRailAsTyped(t *testing.T) {
	s, nb, id := unreadExample(t)
	before := planNow(t, nb, id).ID
	path := at("studies", id, "plan", "boards", "Otter", "rails", "link", "check")
	for _, c := range []struct {
		name string
		over url.Values
		says []string
	}{
		{"as it is", nil, []string{"drops", "What becomes of the aims", "as planned"}},
		{"a thin long loop", url.Values{"loop.0": {"2 m AWG 34"}}, []string{"wrong", "Use a shorter or thicker loop"}},
		{"fewer amperes per volt", url.Values{"way.0": {way(study.TapClamp, "blue clamp", "fine")}}, []string{"kept:"}},
		{"no length", url.Values{"loop.0": {"0 mm AWG 18"}}, []string{"Accepted:"}},
		{"no such gauge", url.Values{"loop.0": {"60 mm AWG 99"}}, []string{"Accepted:", "AWG"}},
		{"negative tolerance", url.Values{"nominal": {"1.5 V ±-3 %"}}, []string{"Accepted:"}},
		{"no instrument", url.Values{"way.0": {""}}, []string{"known", "Mend this"}},
		{"below zero", url.Values{"expect": {"-3 A"}}, []string{"below zero"}},
		{"nothing typed", url.Values{"nominal": {""}, "name": {""}}, []string{"Say its nominal voltage"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := askPart(t, s, "POST", path, railTyped(t, nb, id, c.over))
			for _, text := range c.says {
				if w.Code != 200 || !strings.Contains(w.Body.String(), text) {
					t.Errorf("%d, no %q in %s", w.Code, text, w.Body)
				}
			}
		})
	}
	if planNow(t, nb, id).ID != before {
		t.Error("a check changed the plan")
	}
	contains(t, askPart(t, s, "POST", at("studies", id, "plan", "boards", "Otter", "rails", newRail, "check"), railTyped(t, nb, id, url.Values{"name": {"extra"}, "expect": {"0.2 A"}})), 200, "drops", "What becomes of the aims")
}

// The search runs beside the requests, tells how far it is, can be stopped, and
// what it finds can be put into the plan and gives what it promised.
func TestPlanCheckSearch(t *testing.T) {
	s, nb, id := unreadExample(t)
	base := at("studies", id, "plan", "checks")
	found := func() string {
		t.Helper()
		for range 600 {
			w := askPart(t, s, "GET", base+"/search", nil)
			if !strings.Contains(w.Body.String(), "<progress") {
				return w.Body.String()
			}
			time.Sleep(10 * time.Millisecond)
		}
		t.Fatal("the search does not end")
		return ""
	}
	askPart(t, s, "POST", base+"/search", nil)
	body := found()
	if !strings.Contains(body, "this into the plan") || !strings.Contains(body, "±") {
		t.Fatalf("found %s", body)
	}
	// Put one piece of advice in: the aim's width is then what was promised.
	p, err := plan.Make(t.Context(), planNow(t, nb, id).Study, plan.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	n := -1
	for i, c := range p.Counsels {
		if !c.Reached() && len(c.Together) > 0 && c.Together[0].Own() && n < 0 {
			n = i
		}
	}
	if n < 0 {
		t.Fatal("no advice of the example's can be put into the plan")
	}
	all := p.Counsels[n].Together
	w := ask(t, s, "POST", base+"/adopt", url.Values{"advice": {itoa(int64(n)) + " -1"}})
	if w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	q, err := plan.Make(t.Context(), planNow(t, nb, id).Study, plan.Options{Seed: 1, NoAdvice: true})
	if err != nil {
		t.Fatal(err)
	}
	own := true
	for _, a := range all {
		own = own && a.Own()
	}
	if got, want := q.Counsels[n].Figure.Expanded, all[len(all)-1].After; own && (got > 1.02*want || got < 0.98*want) {
		t.Errorf("put into the plan it gives ±%g W, promised were ±%g W", got, want)
	}
	// It was for the plan as it was.
	if w := ask(t, s, "POST", base+"/adopt", url.Values{"advice": {itoa(int64(n)) + " -1"}}); w.Code < 400 {
		t.Errorf("old advice was taken once more: %d", w.Code)
	}
	contains(t, askPart(t, s, "POST", base+"/cancel", nil), 200, "is tried by working the plan out")
}

// A search that is stopped says so, and can be begun again.
func TestPlanCheckStop(t *testing.T) {
	s, nb, id := unreadExample(t)
	c := &planChecks{s: s, known: map[int64]*readSoFar{}, searches: map[int64]*search{}}
	x, err := c.foresee(t.Context(), id, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := nb.Record(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	c.start(t.Context(), id, rec.LastChange, rec.Plan.ID, x, false)
	one := c.searches[id]
	one.mu.Lock()
	one.stopped = true
	one.mu.Unlock()
	one.stop()
	c.start(t.Context(), id, rec.LastChange, rec.Plan.ID, x, false)
	if c.searches[id] != one || !c.searchOf(id, rec.LastChange).Stopped {
		t.Error("a stopped search began by itself")
	}
	c.start(t.Context(), id, rec.LastChange, rec.Plan.ID, x, true)
	for c.searchOf(id, rec.LastChange).Running {
		time.Sleep(5 * time.Millisecond)
	}
	if v := c.searchOf(id, rec.LastChange); len(v.Counsels) == 0 || v.Stopped {
		t.Errorf("begun again it finds %+v", v)
	}
	if v := c.searchOf(id, rec.LastChange+1); v.Begun {
		t.Error("an old search stands for a changed study")
	}
}

// Aims, expected currents, how the work is done and its order are kept as
// revisions; nonsense is told beside its field and nothing is kept.
func TestPlanCheckForms(t *testing.T) {
	s, nb, id := unreadExample(t)
	otter := listed("Otter", "bare")
	for _, c := range []struct {
		path   string
		form   url.Values
		status int
		says   string
	}{
		{"aims", url.Values{"aim": {otter}, "to": {"-5 mW"}}, 422, "or better"},
		{"aims", url.Values{"aim": {otter}, "to": {"0 W"}}, 422, "or better"},
		{"aims", url.Values{"aim": {otter}, "to": {"5 V"}}, 422, "voltage"},
		{"aims", url.Values{"aim": {""}, "to": {"1 W"}}, 422, "of which state?"},
		{"aims", url.Values{"aim": {otter}, "against": {otter}, "to": {"1 W"}}, 422, "the same state"},
		{"aims", url.Values{"aim": {otter}, "to": {"1 nW"}}, 303, ""},
		{"aims", url.Values{"out": {"99"}}, 400, "no such aim"},
		{"aims", url.Values{"out": {"0"}}, 303, ""},
		{"expected", url.Values{"expecting": {"yes"}, cell("Otter", "link", "bare"): {"-1 A"}}, 422, "below zero"},
		{"expected", url.Values{"expecting": {"yes"}, cell("Otter", "link", "bare"): {"1 2 3 A"}}, 422, "not several"},
		{"expected", url.Values{"expecting": {"yes"}, cell("Otter", "link", "bare"): {"1.5 A scatter 4 mA"}}, 303, ""},
		{"work", url.Values{"passes": {"99"}}, 422, "no such number"},
		{"work", url.Values{"passes": {"2"}, "firstagain": {"no"}}, 303, ""},
		{"order", url.Values{"board": {"Otter"}, "do": {"down bare"}}, 303, ""},
		{"order", url.Values{"board": {"Otter"}, "do": {"pin bare"}}, 303, ""},
		{"order", url.Values{"board": {"Otter"}, "do": {"anew"}}, 303, ""},
		{"order", url.Values{"board": {"Heron"}, "do": {"anew"}}, 400, "no such order"},
		{"order", url.Values{"board": {"Otter"}, "do": {"up nothing"}}, 400, "no such state"},
	} {
		w := ask(t, s, "POST", at("studies", id, "plan", c.path), based(t, nb, id, c.form))
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s %v: %d, want %d with %q", c.path, c.form, w.Code, c.status, c.says)
		}
	}
	p := planNow(t, nb, id).Study
	if e := p.Expected; p.Work == nil || p.Work.Passes != 2 || *p.Work.FirstAgain || *p.Work.Seed != 2 || len(p.Turns("Otter")) != 6 || len(p.Turns("Marten")) != 6 || len(e) == 0 {
		t.Errorf("kept: %+v, %d turns", p.Work, len(p.Order))
	}
	for _, x := range p.Turns("Otter") {
		if x.State == "bare" && !x.Pinned {
			t.Error("bare is not pinned")
		}
	}
	// An aim below physics is told to be one.
	contains(t, ask(t, s, "GET", at("studies", id, "plan", "checks"), nil), 200, "Otter bare", "missed", "pinned")
	if f := study.Check(p); len(f) > 0 {
		t.Error(f)
	}
	contains(t, askPart(t, s, "POST", at("studies", id, "plan", "checks", "try"), url.Values{cell("Otter", "core", "bare"): {"30 A"}}), 200, "kept:")
	contains(t, askPart(t, s, "POST", at("studies", id, "plan", "checks", "try"), url.Values{cell("Otter", "core", "bare"): {"lots"}}), 200, "Accepted:")
}

// What another study read is taken as expected.
func TestPlanCheckLikeAnother(t *testing.T) {
	s, nb, id := unreadExample(t)
	p := planNow(t, nb, id)
	p.Study.Expected = nil
	if _, err := nb.SavePlan(t.Context(), id, p.ID, p.Study, notebook.Origin{}); err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, s, "GET", at("studies", id, "plan", "checks"), nil), 200, "As another study found", "What will Otter core carry?")
	var other int64
	list, err := nb.Studies(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range list {
		if x.ID != id {
			other = x.ID
		}
	}
	if w := ask(t, s, "POST", at("studies", id, "plan", "expected", "like"), based(t, nb, id, url.Values{"like": {itoa(other)}})); w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	if n := len(planNow(t, nb, id).Study.Expected); n < 40 {
		t.Errorf("%d lines are expected", n)
	}
	if f := study.Check(planNow(t, nb, id).Study); len(f) > 0 {
		t.Error(f)
	}
}

// The bench sheet has the photographs with their pins in it, and a policy of its
// own.
func TestPlanCheckSheet(t *testing.T) {
	s, nb, id := unreadExample(t)
	pinBoard(t, nb, id, "Otter")
	w := ask(t, s, "GET", at("studies", id, "plan", "sheet"), nil)
	contains(t, w, 200, "data:image/jpeg;base64,", "core, opening", "front 1", "Order of work")
	if csp := w.Header().Get("Content-Security-Policy"); !strings.Contains(csp, "img-src data:") || strings.Contains(csp, "script-src") {
		t.Errorf("policy %q", csp)
	}
}

// A check as somebody types is to come in less than a tenth of a second.
func BenchmarkPlanCheckRail(b *testing.B) {
	s, nb, id := unreadExample(b)
	form := railTyped(b, nb, id, nil)
	path := at("studies", id, "plan", "boards", "Otter", "rails", "link", "check")
	for b.Loop() {
		if w := askPart(b, s, "POST", path, form); w.Code != 200 {
			b.Fatal(w.Code)
		}
	}
}

// The whole page of the worked example.
func BenchmarkPlanCheckPage(b *testing.B) {
	s, _, id := unreadExample(b)
	for b.Loop() {
		if w := ask(b, s, "GET", at("studies", id, "plan", "checks"), nil); w.Code != 200 {
			b.Fatal(w.Code)
		}
	}
}

// A search that takes long, by its size, tells how far it is; where it is stopped, what
// it had found stays, and can be put into the plan.
func TestSearchThatIsStopped(t *testing.T) {
	s, nb, id := unreadExample(t)
	p := planNow(t, nb, id)
	to := entryOf(t, "10 mW", quantity.Watt)
	p.Study.Aims = []*study.Aim{{Kind: study.ClaimTotal, First: study.StateOn{Board: "Otter", State: "bare"}, To: to}}
	p.Study.Claims = nil
	var all []study.StateOn
	for _, b := range p.Study.Boards {
		for _, st := range p.Study.States {
			on := study.StateOn{Board: b.Name, State: st.Name}
			for _, other := range all {
				p.Study.Aims = append(p.Study.Aims, &study.Aim{Kind: study.ClaimDifference, First: on, Against: other, To: to})
			}
			all = append(all, on)
		}
	}
	if _, err := nb.SavePlan(t.Context(), id, p.ID, p.Study, notebook.Origin{}); err != nil {
		t.Fatal(err)
	}
	contains(t, askPart(t, s, "POST", at("studies", id, "plan", "checks", "search"), nil), 200, "search-bar", "Stop the search")
	s.checks.mu.Lock()
	going := s.checks.searches[id]
	s.checks.mu.Unlock()
	for last, found := 0, 0; found == 0; {
		time.Sleep(5 * time.Millisecond)
		going.mu.Lock()
		if found = len(going.found); going.done < last || going.over {
			t.Errorf("%d tallies after %d, over %v", going.done, last, going.over)
			found = 1
		}
		last = going.done
		going.mu.Unlock()
	}
	contains(t, askPart(t, s, "POST", at("studies", id, "plan", "checks", "cancel"), nil), 200, "The search was stopped", "What it had found until then", "Otter bare is expected", "Search what would help")
	w := ask(t, s, "POST", at("studies", id, "plan", "checks", "adopt"), url.Values{"advice": {"0 -1"}})
	if now := planNow(t, nb, id); w.Code != 303 || now.Based == p.ID {
		t.Errorf("%d: what was found could not be put into the plan", w.Code)
	}
}
