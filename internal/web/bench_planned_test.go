package web

import (
	"net/url"
	"strings"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/study"
)

// choose keeps how the work is to be done in the example's plan.
func (d deskSetup) choose(t *testing.T, edit func(*study.Study)) {
	t.Helper()
	p := planNow(t, d.nb, d.id)
	edit(p.Study)
	if _, err := d.nb.SavePlan(t.Context(), d.id, p.ID, p.Study, notebook.Origin{Why: "order of work"}); err != nil {
		t.Fatal(err)
	}
}

func (o *order) titles() string {
	var out []string
	for _, v := range o.visits {
		out = append(out, v.Title)
	}
	return strings.Join(out, "|")
}

// asked lists the rails whose current is asked for at a visit.
func (v *visit) asked() string {
	var out []string
	for _, s := range v.Slots {
		if s.Kind == notebook.Current && !s.Aside {
			name := s.Rail
			if s.Back {
				name += " back"
			}
			out = append(out, name)
		}
	}
	return strings.Join(out, " ")
}

// The bench follows the plan: the same halts in the same order, each with its
// rails and zeros; and it follows at once when the plan is changed between two
// readings, without asking again for what was read.
func TestBenchFollowsThePlan(t *testing.T) {
	d := newDesk(t)
	if o := d.order(t); o.visits[1].plan != nil || o.visits[1].todo() != "" {
		t.Error("nobody chose an order of work, and the bench follows one")
	}
	turns := func(states ...string) func(*study.Study) {
		return func(s *study.Study) {
			s.Order = nil
			for _, st := range states {
				s.Order = append(s.Order, &study.Turn{Board: "Otter", State: st})
			}
			s.Work = &study.Work{Passes: 1, FirstAgain: new(true), StatesPerZero: new(3)}
			s.BothWays = []*study.Threaded{{Board: "Otter", Rail: "pll a"}}
		}
	}
	d.choose(t, turns("four-busy", "bare", "one-idle", "one-busy", "one-busy-fast", "four-idle"))
	o := d.order(t)
	stops := plan.Stops(o.record.Study, "Otter", "")
	if len(stops) != len(o.visits) {
		t.Fatalf("%d visits, %d halts: %s", len(o.visits), len(stops), o.titles())
	}
	var all []string
	for i, v := range o.visits {
		if v.State != stops[i].State || v.todo() != stops[i].Todo() {
			t.Errorf("visit %d is %q, the plan has %+v", i+1, v.Title, stops[i])
		}
		if v.State == "four-busy" {
			all = append(all, v.asked())
		}
	}
	// The clamp that several rails share sits on one at a time; the first rail comes once more.
	if len(all) < 3 || !strings.Contains(strings.Join(all, ","), "pll a pll a back") || all[len(all)-1] != "core" {
		t.Errorf("in four-busy is asked for %q", all)
	}
	first := visitKey(d.sitting, "four-busy", 1)
	enterAll(t, d.s, d.id, d.sitting, zeroEntry(visitKey(d.sitting, "", 1), "red clamp", "low", "0.1"), readEntry(first, "current", "core", "mV", "511"))
	if o = d.order(t); !strings.HasPrefix(o.titles(), "Zeros|four-busy|bare|one-idle|Zeros, 2nd time|") {
		t.Errorf("after the first reading: %s", o.titles())
	}
	// Changed at the bench: what was begun stays where it is, the rest follows.
	d.choose(t, turns("one-idle", "four-busy", "bare", "one-busy", "one-busy-fast", "four-idle"))
	if o = d.order(t); !strings.HasPrefix(o.titles(), "Zeros|four-busy|one-idle|bare|Zeros, 2nd time|one-busy|") {
		t.Errorf("after the change: %s", o.titles())
	}
	// Skipped ahead: zeros that work has passed are not asked for any more.
	enterAll(t, d.s, d.id, d.sitting, readEntry(visitKey(d.sitting, "four-idle", 1), "current", "core", "mV", "400"))
	if o = d.order(t); !strings.HasPrefix(o.titles(), "Zeros|four-busy|four-idle|one-idle|bare|one-busy|one-busy-fast|") {
		t.Errorf("after skipping ahead: %s", o.titles())
	}
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, "Steady after about 5 min.")
}

// Before anything is opened only the inputs are asked for.
func TestBenchBeforeOpening(t *testing.T) {
	d := newDesk(t)
	d.choose(t, func(s *study.Study) {
		in := *s.Boards[0].Rails[0]
		in.Name = "supply"
		in.Taps = []*study.Tap{new(*in.Taps[0])}
		s.Board("Otter").Inputs = []*study.Rail{&in}
	})
	w := ask(t, d.s, "POST", at("studies", d.id, "bench"), url.Values{"board": {"Otter"}, "on": {"2026-11-24"}, "name": {plan.BeforeOpening}, "voltagemeter": {"desk meter"}, "currentmeter": {"desk meter"}})
	if w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	rec, err := d.nb.Record(t.Context(), d.id)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range rec.Sittings {
		if x.Name != plan.BeforeOpening {
			continue
		}
		o, err := newOrder(rec, x.First, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range o.visits {
			if v.State != "" && v.asked() != "supply" {
				t.Errorf("%s: %s is asked for", v.Title, v.asked())
			}
		}
		// Zeros first: the input is read with a clamp.
		if len(o.visits) != 3 || o.visits[0].State != "" {
			t.Errorf("%s", o.titles())
		}
	}
}
