package report

import (
	"slices"
	"strings"

	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// findingGroup holds the findings of one severity.
type findingGroup struct {
	Title, Says, Kind string
	Findings          []*finding
}

// finding is what was noticed, with the places where it was.
type finding struct {
	Places   []string
	Text, Do string

	from []sensing.Finding // one of each place
}

// add notes another place: as a further rail where only the rail is another.
func (f *finding) add(x sensing.Finding) {
	for i, y := range f.from {
		if y.Board == x.Board && y.Sitting == x.Sitting && slices.Equal(y.States, x.States) && y.Rail != "" && x.Rail != "" {
			f.from[i].Rail += "\x00" + x.Rail
			return
		}
	}
	f.from = append(f.from, x)
}

// settle writes the places out.
func (f *finding) settle(t tongue) {
	for _, x := range f.from {
		x.Rail = t.List(strings.Split(x.Rail, "\x00"))
		if p := t.tell(tally.FindingPlace(x)); p != "" {
			f.Places = append(f.Places, p)
		}
	}
}

func (a *assembler) findings() []findingGroup {
	groups := []findingGroup{
		{Title: a.say("Wrong"), Kind: string(sensing.Wrong), Says: a.say("These figures are very likely not what they claim to be.")},
		{Title: a.say("Doubtful"), Kind: string(sensing.Doubtful), Says: a.say("To be looked at before the figures are used.")},
		{Title: a.say("To note"), Kind: string(sensing.Note), Says: a.say("Worth knowing when the figures are read.")},
	}
	for _, f := range slices.Concat(a.t.Findings, a.trialFindings()) {
		for i := range groups {
			if groups[i].Kind == string(f.Severity) {
				groups[i].of(a.tell(f.Text), a.tell(f.Do)).add(f)
			}
		}
	}
	var out []findingGroup
	for _, g := range groups {
		for _, f := range g.Findings {
			f.settle(a.tongue)
		}
		if len(g.Findings) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// of returns the finding that says this, a new one where there is none yet.
func (g *findingGroup) of(text, do string) *finding {
	for _, f := range g.Findings {
		if f.Text == text && f.Do == do {
			return f
		}
	}
	f := &finding{Text: text, Do: do}
	g.Findings = append(g.Findings, f)
	return f
}
