package report

import (
	"fmt"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// sittingsView says when the work was done and how well it repeats.
type sittingsView struct {
	Rows     []sittingRow
	Repeats  []repeatRow
	Unit     string // of the repeats' differences
	Effect   string // what is known of a sitting's effect, a sentence
	Assessed bool
}

type sittingRow struct {
	ID, Name    string
	Board, When string
	Room, By    string
	Meters      string
	Zeros       []string
	Order       string
	Note        string
	Notes       []stepNote
}

// stepNote is what was written down at a step of a sitting.
type stepNote struct{ Where, Text string }

type repeatRow struct {
	On, Href      string
	First, Second string
	Difference    *cell
	En            string
	Agrees        string
}

func (a *assembler) sittings() (*sittingsView, error) {
	v := &sittingsView{Assessed: a.t.Sittings.Assessed}
	for _, s := range a.t.Study.Sittings {
		v.Rows = append(v.Rows, a.sitting(s))
	}
	e := a.t.Sittings
	col := a.newColumn(quantity.Watt)
	for _, r := range e.Repeated {
		if p := a.newColumn(quantity.Watt, r.Difference); len(v.Repeats) == 0 || p.Prefix.In(1) < col.Prefix.In(1) {
			col.Prefix = p.Prefix
		}
		v.Repeats = append(v.Repeats, repeatRow{})
	}
	v.Unit = col.Symbol()
	for i, r := range e.Repeated {
		row := repeatRow{
			On: on(r.On), Href: "#" + a.anchors.id(r.On.Board, r.On.State), First: r.First.Name, Second: r.Second.Name,
			Difference: col.add(r.Difference), En: a.firm(fmt.Sprintf("%.2f", r.En)), Agrees: a.say("agree"),
		}
		if r.En > 1 {
			row.Agrees = a.say("disagree")
		}
		v.Repeats[i] = row
	}
	col.align()
	if len(v.Rows) > 0 {
		v.Effect = a.sittingEffect()
	}
	return v, nil
}

func (a *assembler) sittingEffect() string {
	e := a.t.Sittings
	switch {
	case e.Carried != nil && !e.Assessed:
		return a.say("No state was measured in two sittings. The effect of a sitting is taken over from %s: a standard deviation of %s (%s). It is in the interval of every total and of differences between sittings, not in those of single rails: which rail it falls on is not known.",
			phrase.Word(e.Carried.Source()), a.amount(e.SD, quantity.Watt, 2), degrees(e.DOF))
	case e.Carried != nil:
		return a.say("From the states that were measured in several sittings, together with %s, the sitting itself is estimated to add a standard deviation of %s (%s) to what the readings explain. It is in the interval of every total and of differences between sittings, not in those of single rails: which rail it falls on is not known.",
			phrase.Word(e.Carried.Source()), a.amount(e.SD, quantity.Watt, 2), degrees(e.DOF))
	case !e.Assessed && len(a.t.Study.Sittings) < 2:
		return a.say("All readings come from one sitting. What another day at the bench would change is not assessed, and no interval on this page allows for it.")
	case !e.Assessed:
		return a.say("No state was measured in two sittings. What another day at the bench would change is not assessed, and no interval on this page allows for it.")
	case e.SD == 0:
		return a.say("The states that were measured in several sittings scatter no more than their readings explain. Nothing was added for the sitting (%s).", degrees(e.DOF))
	}
	return a.say("From the states that were measured in several sittings, the sitting itself is estimated to add a standard deviation of %s (%s) to what the readings explain. It is in the interval of every total and of differences between sittings, not in those of single rails: which rail it falls on is not known.",
		a.amount(e.SD, quantity.Watt, 2), degrees(e.DOF))
}

func (a *assembler) sitting(s *study.Sitting) sittingRow {
	row := sittingRow{
		ID: a.anchors.part("sitting", s.Name), Name: s.Name, Board: s.Board, When: a.when(s), By: s.By, Note: a.prose(s.Note),
		Room: a.say("not recorded"), Order: a.stepOrder(s),
	}
	if s.Room != nil {
		row.Room = a.firm(written(*s.Room))
	}
	switch {
	case s.VoltageMeter == s.CurrentMeter:
		row.Meters = s.VoltageMeter
	case s.VoltageMeter != "" && s.CurrentMeter != "":
		row.Meters = a.say("%s for currents, %s for voltages", s.CurrentMeter, s.VoltageMeter)
	default:
		row.Meters = s.CurrentMeter + s.VoltageMeter
	}
	for i, st := range s.Steps {
		row.Notes = append(row.Notes, a.stepNotes(i, st)...)
		for _, z := range st.Zeros {
			what := z.Instrument
			if z.Range != "" {
				what += " " + z.Range
			}
			if z.Rail != "" {
				what = z.Rail
				if z.Tap != "" {
					what += " " + z.Tap
				}
			}
			at := a.stepText(i)
			if !st.At.IsZero() {
				at = st.At.Format("15:04")
			}
			row.Zeros = append(row.Zeros, a.say("%s at %s: %s", what, at, a.inWords(z.Reading.Entry)))
		}
	}
	return row
}

// stepNotes are the notes to a step and to rails in it.
func (a *assembler) stepNotes(i int, st *study.Step) (out []stepNote) {
	where := a.stepText(i)
	if st.State != "" {
		where += ", " + st.State
	}
	if st.Note != "" {
		out = append(out, stepNote{where, a.prose(st.Note)})
	}
	for _, r := range st.Rails {
		if r.Note != "" {
			out = append(out, stepNote{where + ", " + r.Rail, a.prose(r.Note)})
		}
	}
	return out
}

// stepOrder is the order of work in one line: "zero, bare, one-busy, zero".
func (t tongue) stepOrder(s *study.Sitting) string {
	var out string
	for _, st := range s.Steps {
		for _, word := range []string{map[bool]string{true: t.say("zero")}[len(st.Zeros) > 0], st.State} {
			if word == "" {
				continue
			}
			if out != "" {
				out += ", "
			}
			out += word
		}
	}
	return out
}

func degrees(dof float64) phrase.Phrase {
	return phrase.Count(int(dof), "one degree of freedom", "%s degrees of freedom")
}
