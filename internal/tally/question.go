package tally

import (
	"math"
	"slices"
	"strings"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// question collects everything that a careful colleague would ask about,
// worst first, with like findings of several states drawn together.
func (t *Tally) question(fromReadings []sensing.Finding) error {
	all := append(t.Findings, fromReadings...)
	for _, b := range t.Boards {
		for _, s := range b.States {
			all = append(all, missingRails(s)...)
			wide, err := t.wideBands(s)
			if err != nil {
				return err
			}
			all = append(all, wide...)
		}
		all = append(all, scaleSlips(b)...)
		all = append(all, strays(b)...)
		all = append(all, misfits(b)...)
	}
	all = append(all, t.questionUpstream()...)
	all = append(all, t.questionTrees()...)
	all = append(all, t.questionSittings()...)
	all = append(all, t.questionSpecimens()...)
	t.Findings = drawTogether(all)
	return nil
}

// drawTogether merges findings that differ only in their state or in their
// figures, and sorts them by severity, keeping the order of appearance within
// one severity.
func drawTogether(fs []sensing.Finding) []sensing.Finding {
	type key struct{ code, board, sitting, rail, do string }
	at := map[key]int{}
	var out []sensing.Finding
	for _, f := range fs {
		k := key{f.Code, f.Board, f.Sitting, f.Rail, f.Do.String()}
		i, seen := at[k]
		if !seen {
			at[k] = len(out)
			f.States = slices.Clone(f.States)
			out = append(out, f)
			continue
		}
		for _, s := range f.States {
			if !slices.Contains(out[i].States, s) {
				out[i].States = append(out[i].States, s)
			}
		}
	}
	rank := map[sensing.Severity]int{sensing.Wrong: 0, sensing.Doubtful: 1, sensing.Note: 2}
	slices.SortStableFunc(out, func(a, b sensing.Finding) int { return rank[a.Severity] - rank[b.Severity] })
	return out
}

// missingRails notes rails that were not read in some sitting of a state.
func missingRails(s *State) []sensing.Finding {
	var out []sensing.Finding
	for _, tk := range s.Taken {
		if tk.onlyInputs() {
			if !s.Complete && len(s.Taken) == 1 {
				out = append(out, sensing.Finding{Code: "only-inputs", Severity: sensing.Note, Board: s.Board.Name,
					Sitting: tk.Sitting.Name, States: []string{s.State.Name},
					Text: phrase.New("Only the board's inputs were read in this state, as before anything is opened; it has no total of the chip's own."),
					Do:   phrase.New("Read the rails in this state once they are opened.")})
			}
			continue
		}
		for _, r := range tk.Missing {
			f := sensing.Finding{
				Code: "rail-missing", Severity: sensing.Wrong, Board: s.Board.Name,
				Sitting: tk.Sitting.Name, Rail: r, States: []string{s.State.Name},
				Text: phrase.New("The rail was not read in this state, so the state has no total."),
				Do:   phrase.New("Read it, or record that it was not opened and between which currents it stays."),
			}
			if s.Complete {
				f.Severity = sensing.Doubtful
				f.Text = phrase.New("The rail was not read in this sitting; the state's total rests on the other sittings alone.")
			}
			out = append(out, f)
		}
	}
	return out
}

// onlyInputs tells whether a board's inputs were read and none of its rails, as
// is done before anything is opened.
func (tk *Taken) onlyInputs() bool {
	for _, r := range tk.Rails {
		if len(r.Visits) > 0 {
			return false
		}
	}
	return len(tk.Inputs) > 0
}

func notComparable(c study.Comparison, first, second *State) sensing.Finding {
	why := phrase.New("a rail is missing in one of them")
	if first == nil || second == nil {
		why = phrase.New("one of them was not measured")
	}
	return sensing.Finding{
		Code: "not-comparable", Severity: sensing.Doubtful, Board: c.First.Board, States: []string{c.First.State},
		Text: phrase.New("%s cannot be compared with %s: %s.", c.First, c.Second, why),
		Do:   phrase.New("Measure the missing state or rail, or take the comparison out."),
	}
}

// wideBandShare is the part of a total's variance from which one flickering
// reading is questioned (20 %; our own choice).
const wideBandShare = 0.2

// wideBands questions bands that contribute much to the total's uncertainty.
func (t *Tally) wideBands(s *State) ([]sensing.Finding, error) {
	if !s.Complete || !s.flickers(nil) {
		return nil, nil
	}
	shares, err := t.Graph.Budget(s.Total.Value)
	if err != nil {
		return nil, err
	}
	var out []sensing.Finding
	for _, sh := range shares {
		if sh.Fraction < wideBandShare {
			break
		}
		if tag(sh, sensing.TagCause) != sensing.CauseBand {
			continue
		}
		out = append(out, sensing.Finding{
			Code: "band-wide", Severity: sensing.Doubtful, Board: s.Board.Name,
			Sitting: tag(sh, sensing.TagSitting), Rail: tag(sh, sensing.TagRail), States: []string{s.State.Name},
			Text: phrase.New("The band of this reading alone makes %.0f %% of the variance of the state's total.", 100*sh.Fraction),
			Do:   phrase.New("Write down ten single readings instead of a band, or let the meter average."),
		})
	}
	return out, nil
}

func tag(s gum.Share, key string) string {
	for _, t := range s.Tags {
		if t.Key == key {
			return t.Value
		}
	}
	return ""
}

// scaleSlips questions a rail's current that stands apart from its sister
// states by a factor of ten, a hundred, or the number of turns, as it does
// when the scale switch or the count of turns was wrong.
func scaleSlips(b *Board) []sensing.Finding {
	var out []sensing.Finding
	for _, r := range b.Rails {
		if len(r.Taps) == 0 {
			continue
		}
		var states []*State
		var drawn []float64
		for _, s := range b.States {
			if x := s.Rail(r.Name); x != nil && x.Drawn.Estimate > 0 {
				states, drawn = append(states, s), append(drawn, x.Drawn.Estimate)
			}
		}
		sorted := slices.Clone(drawn)
		slices.Sort(sorted)
		for i, s := range states {
			if f := slip(drawn[i], without(sorted, drawn[i]), r.Taps[0].Turns); !f.IsZero() {
				out = append(out, sensing.Finding{
					Code: "scale-slip", Severity: sensing.Doubtful, Board: b.Name, Rail: r.Name, States: []string{s.State.Name},
					Text: phrase.New("%s here is about %s the rail's current in the other states.",
						phrase.Number(quantity.Format(drawn[i], quantity.Ampere, 3)), f),
					Do: phrase.New("Check the clamp's scale switch, the meter's range and the number of turns, and read again."),
				})
			}
		}
	}
	return out
}

// without returns sorted values less one of them.
func without(sorted []float64, x float64) []float64 {
	i, _ := slices.BinarySearch(sorted, x)
	return append(sorted[:i:i], sorted[i+1:]...)
}

// slip describes the factor by which x stands apart from others that agree
// among themselves and are sorted; "" when it does not. The limits are our own choice: the
// others within a factor of two of each other, x within a fifth of the factor.
func slip(x float64, others []float64, turns int) phrase.Phrase {
	if len(others) < 2 || others[len(others)-1] > 2*others[0] {
		return phrase.Phrase{}
	}
	ratio := x / others[len(others)/2]
	factors := []float64{10, 100}
	if turns >= 3 {
		factors = append(factors, float64(turns))
	}
	for _, f := range factors {
		switch {
		case math.Abs(math.Log(ratio/f)) < math.Log(1.2):
			return phrase.New("%.0f times", f)
		case math.Abs(math.Log(ratio*f)) < math.Log(1.2):
			return phrase.New("1/%.0f of", f)
		}
	}
	return phrase.Phrase{}
}

// questionSittings says what is and is not known about the effect of a sitting.
func (t *Tally) questionSittings() []sensing.Finding {
	if len(t.Study.Sittings) < 2 {
		return nil
	}
	if c := t.Sittings.Carried; !t.Sittings.Assessed && c != nil {
		return []sensing.Finding{{
			Code: "sittings-carried", Severity: sensing.Note,
			Text: phrase.New("No state was measured in two sittings; what another day at the bench makes of it is taken over from %s: %s in every total.", phrase.Word(c.Source()), phrase.Number(quantity.Format(t.Sittings.SD, quantity.Watt, 2))),
			Do:   phrase.New("Measure one state again in another sitting, so that this study has a figure of its own."),
		}}
	}
	if !t.Sittings.Assessed {
		return []sensing.Finding{{
			Code: "sittings-not-assessed", Severity: sensing.Note,
			Text: notAssessed(t),
			Do:   phrase.New("Measure one state again in another sitting."),
		}}
	}
	var out []sensing.Finding
	for _, r := range t.Sittings.Repeated {
		if r.En <= 1 {
			continue
		}
		out = append(out, sensing.Finding{
			Code: "sittings-disagree", Severity: sensing.Doubtful, Board: r.On.Board, States: []string{r.On.State},
			Text: phrase.New("%s came out %s in %q than in %q, more than the readings explain (E_n = %.1f); a sitting-to-sitting component of %s was added.",
				r.On.State, r.HowMuch(),
				r.Second.Name, r.First.Name, r.En, phrase.Number(quantity.Format(t.Sittings.SD, quantity.Watt, 2))),
			Do: phrase.New("Look for what changed between the days: software, temperature of the board, how the loops lie."),
		})
	}
	return out
}

// notAssessed says what an unassessed sitting means, also for comparing boards.
func notAssessed(t *Tally) phrase.Phrase {
	for _, d := range t.Differences {
		if len(common(d.First, d.Second)) == 0 {
			return phrase.New("No state was measured in two sittings, so the difference that another day at the bench makes is not assessed and not in any interval. A difference between boards may be one between days.")
		}
	}
	return phrase.New("No state was measured in two sittings, so the difference that another day at the bench makes is not assessed and not in any interval.")
}

// FindingPlace names where a finding was made, for people: "Otter, pll a, in
// bare and one-busy (March)".
func FindingPlace(f sensing.Finding) phrase.Phrase {
	var parts []string
	for _, p := range []string{f.Board, f.Rail} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	place := phrase.Name(strings.Join(parts, ", "))
	switch {
	case len(f.States) > 0 && len(parts) > 0:
		place = phrase.New("%s, in %s", place, f.States)
	case len(f.States) > 0:
		place = phrase.New("%s", f.States)
	case len(parts) == 0 && f.Sitting == "":
		return phrase.Phrase{}
	case len(parts) == 0:
		return phrase.Name("(" + f.Sitting + ")")
	}
	if f.Sitting != "" {
		place = phrase.New("%s (%s)", place, f.Sitting)
	}
	return place
}
