package web

import (
	"context"
	"slices"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/plan"
	"railtally/internal/tally"
)

// judged is how a trial comes out with the reading that is being typed.
type judged struct {
	Holds   bool   `json:"holds"`
	Verdict string `json:"verdict"` // "Agrees.", "Does not agree."
	Text    string `json:"text"`
}

func judgedOf(p plan.Proof) judged {
	verdict := "Does not agree."
	if p.Holds {
		verdict = "Agrees."
	}
	return judged{p.Holds, verdict, p.Text.String()}
}

// trials lists the trials that a slot's reading is part of.
func (o *order) trials(s *wanted) []plan.Trial {
	if s.Rail == "" || s.visit.State == "" {
		return nil
	}
	v := s.visit
	again := v.plan != nil && v.plan.Again
	for _, st := range o.sitting.Steps {
		if st.State != v.State || v.Step != 0 && o.record.StepOf[st] == v.Step {
			continue
		}
		if r := st.Reading(s.Rail); r != nil && len(r.Current) > 0 {
			again = true
		}
	}
	return plan.TrialsAt(o.record.Study, o.board.Name, o.sitting.Name, v.State, s.Rail, again)
}

// trialText says what a slot's reading is a trial of, and what must come out.
func (o *order) trialText(s *wanted) string {
	if s.Kind != notebook.Current && s.Kind != notebook.Voltage {
		return ""
	}
	var out []string
	for _, t := range o.trials(s) {
		out = append(out, "Trial: "+t.Says.String())
	}
	return strings.Join(out, " ")
}

// judge tells how the trials come out that the reading is part of. It looks at all
// sittings of the board, since the other half of a trial may be in an earlier one.
func (x *excerpt) judge() (out []judged) {
	trials := x.o.trials(x.slot)
	if len(trials) == 0 {
		return nil
	}
	whole := *x.o.record.Study
	whole.Comparisons, whole.Claims, whole.Sittings = nil, nil, nil
	for _, sit := range x.o.record.Study.Sittings {
		switch {
		case sit == x.o.sitting:
			mine := *sit
			mine.Steps = nil
			there := false
			for _, st := range sit.Steps {
				if x.slot.visit.Step != 0 && x.o.record.StepOf[st] == x.slot.visit.Step {
					st, there = x.step, true
				}
				mine.Steps = append(mine.Steps, st)
			}
			if !there {
				mine.Steps = append(mine.Steps, x.step)
			}
			whole.Sittings = append(whole.Sittings, &mine)
		case sit.Board == x.o.board.Name:
			whole.Sittings = append(whole.Sittings, sit)
		}
	}
	done, _ := notebook.Finished(&whole)
	if len(x.o.hinders(done)) > 0 {
		return nil // what hinders is told beside the field
	}
	t, err := tally.Run(done, tally.Options{})
	if err != nil {
		return nil // told there too
	}
	proofs, err := plan.Prove(t)
	if err != nil {
		return nil
	}
	for _, p := range proofs {
		if p.Code == "turns" && p.State != x.slot.visit.State || p.Code == "drift" && (p.State != x.slot.visit.State || p.Sitting != x.o.sitting.Name) {
			continue
		}
		if slices.ContainsFunc(trials, func(k plan.Trial) bool { return k.Judges(p) }) {
			out = append(out, judgedOf(p))
		}
	}
	return out
}

// trialLine is one trial on the bench page: judged, or still to be made.
type trialLine struct{ Name, Verdict, Grade, Text string }

// trialLines lists the board's trials with what the readings say of them.
func (b *bench) trialLines(ctx context.Context, id int64, o *order) (out []trialLine, err error) {
	trials := plan.Trials(o.record.Study, o.board.Name)
	if len(trials) == 0 {
		return nil, nil
	}
	read, err := b.s.checks.readSoFar(id, o.record)
	if err != nil {
		return nil, nil // the results say what is wrong
	}
	for _, k := range trials {
		var last *plan.Proof
		fails := 0
		for i := range read.proofs {
			if p := &read.proofs[i]; k.Judges(*p) {
				if !p.Holds {
					fails++
				}
				if last == nil || !p.Holds || last.Holds {
					last = p // the newest, or the newest that fails
				}
			}
		}
		l := trialLine{Name: capital(k.Name.String()), Verdict: "to do", Grade: "ask", Text: k.Says.String()}
		switch {
		case last != nil && fails > 0:
			l.Verdict, l.Grade, l.Text = "fails", "wrong", last.Text.String()
		case last != nil:
			l.Verdict, l.Grade, l.Text = "holds", "sound", last.Text.String()
		}
		out = append(out, l)
	}
	return out, nil
}
