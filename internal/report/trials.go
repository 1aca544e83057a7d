package report

import (
	"fmt"
	"slices"

	"railtally/internal/phrase"
	"railtally/internal/plan"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// trialsView is what was tried to prove that opening the rails changed nothing and
// that the chain from wire to figure is right, and what came of it.
type trialsView struct {
	Kinds []trialKind
	Due   []string // scheduled and not made
}

// trialKind holds the trials that prove the same thing.
type trialKind struct {
	ID, Title, Says string
	Rows            []trialRow
	Meaning         []string // of each, in sentences; of many, what does not hold
}

type trialRow struct {
	Where, What    string
	Difference, En string
	Verdict        verdict
}

// fewTrials is how many trials of one kind have each what it means said.
const fewTrials = 4

// proofs judges the trials once.
func (a *assembler) proofs() ([]plan.Proof, error) {
	if !a.proved {
		a.proved = true
		if a.made, a.unproved = plan.Prove(a.t); a.unproved != nil {
			a.unproved = fmt.Errorf("trials: %w", a.unproved)
		}
	}
	return a.made, a.unproved
}

// trials sets the trials out; nil where none was made or scheduled.
func (a *assembler) trials() (*trialsView, error) {
	made, err := a.proofs()
	if err != nil {
		return nil, err
	}
	v := &trialsView{}
	for _, k := range []struct {
		code, title, says string
	}{
		{"surgery", a.say("Did opening the rails change the board?"), a.say("The power into the board before anything was opened, against the same with all loops closed, less what the loops themselves turn into heat.")},
		{"known-load", a.say("Known load"), a.say("A resistor of known value must add what Ohm's law says. This tries gain, sign, scale and turns at once.")},
		{"turns", a.say("Turns and sensors"), a.say("One current read twice, with other turns, another sensor or at another place.")},
		{"drift", a.say("Drift"), a.say("What was read first was read once more at the end.")},
	} {
		kind := trialKind{ID: a.anchors.part("trials", k.code), Title: k.title, Says: k.says}
		many := 0
		for _, p := range made {
			if p.Code == k.code {
				many++
			}
		}
		for _, p := range made {
			if p.Code != k.code {
				continue
			}
			row := trialRow{Where: p.Board + " " + p.State, What: a.tell(p.What.Capital()), Difference: a.stated(p.Difference, p.Unit),
				En: a.firm(fmt.Sprintf("%.2f", p.En)), Verdict: verdict{Text: a.say("agree"), Kind: "resolved"}}
			if !p.Holds {
				row.Verdict = verdict{Text: a.say("disagree"), Kind: "refuted"}
			}
			kind.Rows = append(kind.Rows, row)
			if text := a.tell(p.Text); (many <= fewTrials || !p.Holds) && !slices.Contains(kind.Meaning, text) {
				kind.Meaning = append(kind.Meaning, text)
			}
		}
		if many > fewTrials && len(kind.Meaning) == 0 {
			kind.Meaning = []string{a.tell(phrase.Count(many, "It agrees.", "All %s agree within what their readings explain."))}
		}
		if many > 0 {
			v.Kinds = append(v.Kinds, kind)
		}
	}
	for _, b := range a.t.Study.Boards {
		for _, k := range plan.Trials(a.t.Study, b.Name) {
			// Of a study whose work nobody planned, only what it names itself is due.
			named := k.Code != "surgery" || plan.Planned(a.t.Study)
			if named && !slices.ContainsFunc(made, k.Judges) {
				v.Due = append(v.Due, a.say("%s: %s", b.Name, k.Says))
			}
		}
	}
	if len(v.Kinds) == 0 && len(v.Due) == 0 {
		return nil, nil
	}
	return v, nil
}

// trialFindings questions what the trials do not let stand.
func (a *assembler) trialFindings() (out []sensing.Finding) {
	made, _ := a.proofs() // an error is told where the trials are set out
	for _, p := range made {
		if !p.Holds {
			out = append(out, sensing.Finding{Code: "trial-" + p.Code, Severity: sensing.Doubtful, Board: p.Board, Sitting: p.Sitting, Rail: p.Rail, States: []string{p.State}, Text: p.Text, Do: p.Do})
		}
	}
	return out
}

// untried lists the boards of which no trial shows that opening them changed
// nothing.
func (a *assembler) untried() (out []string) {
	made, _ := a.proofs()
	for _, b := range a.t.Boards {
		opened := slices.ContainsFunc(b.Rails, func(r *study.Rail) bool { return len(r.Taps) > 0 })
		if opened && !slices.ContainsFunc(made, func(p plan.Proof) bool { return p.Code == "surgery" && p.Board == b.Name }) {
			out = append(out, b.Name)
		}
	}
	return out
}
