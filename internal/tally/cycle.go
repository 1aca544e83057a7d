package tally

import (
	"math"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
	"railtally/internal/trace"
)

// A load that repeats itself is read right only over whole periods. What a single
// reading may be off by that averages over less, or over some more, is a part of
// the load's swing (trace.CutShort, where it is derived). Where the study tells the
// rail's swing the error enters the current as a rectangle either way; where it
// does not, it is told as a part of it and enters nothing.
//
// Repeats and a band need none of this: read at odd moments, repeats scatter, and a
// display wanders, by that very error. A mean that a log gave has it from its
// samples when it is taken.

// fullySeen is the part of the swing up to which a window counts as one of whole
// periods (a hundredth; our own choice).
const fullySeen = 0.01

// cutShort is what a rail's current in one reading may be off by because it was
// not averaged over whole periods; not Valid where nothing is to be added. v is
// the reading as it was sensed.
func (t *Tally) cutShort(p sensing.Place, rr *study.RailReading, v *Visit) gum.Value {
	st := t.Study.State(p.State)
	if st == nil || st.Cycle == nil {
		return gum.Value{}
	}
	lo, hi := st.Cycle.Seconds()
	most, window := 0.0, 0.0
	for i, c := range v.Taps {
		if e := rr.Current[i].Reading; e.Kind != quantity.Single || e.Tol != nil {
			continue
		}
		seconds := t.averages(c)
		if seconds == 0 {
			t.Findings = append(t.Findings, at(p, "averaging-unknown", sensing.Note,
				phrase.New("The load repeats itself, and how long %s averages for one reading is not recorded: whether single readings hold whole periods is not assessed.", c.Meter),
				phrase.New("Record how long the meter averages, or write down ten single readings.")))
			return gum.Value{}
		}
		// The phases of a rail share its swing, so the one that is worst stands for all.
		if part := trace.CutShort(seconds, lo, hi); part > most {
			most, window = part, seconds
		}
	}
	if most <= fullySeen {
		return gum.Value{}
	}
	over := phrase.Number(quantity.Format(window, quantity.Second, 3))
	every := phrase.Number(st.Cycle.Period.String())
	do := phrase.New("Average over whole periods of the load, or write down ten single readings at odd moments.")
	swing := st.Cycle.Swing(p.Rail.Name)
	if swing == nil {
		t.Findings = append(t.Findings, at(p, "period-cut-short", sensing.Doubtful,
			phrase.New("The load repeats every %s and a reading averages over %s, which is no whole number of periods: a single reading may be off by up to %.0f %% of what the current swings by. How far it swings is not recorded, so this is in no interval.", every, over, 100*most), do))
		return gum.Value{}
	}
	half := most * math.Abs(swing.Values[1]-swing.Values[0])
	t.Findings = append(t.Findings, at(p, "period-cut-short", sensing.Doubtful,
		phrase.New("The load repeats every %s and a reading averages over %s, which is no whole number of periods: a single reading may be off by up to %s. That is in the interval.", every, over, phrase.Number(quantity.Format(half, quantity.Ampere, 2))), do))
	return t.bench.Input(p.Board.Name+" "+p.State+", "+p.Rail.Name+": unfinished period", gum.Rectangular{Lo: -half, Hi: half}, []gum.Tag{
		{Key: sensing.TagCause, Value: sensing.CauseWindow}, {Key: sensing.TagRail, Value: p.Rail.Name},
		{Key: sensing.TagBoard, Value: p.Board.Name}, {Key: sensing.TagSitting, Value: p.Sitting.Name},
	})
}

// averages is how many seconds the meter of a reading averages over; 0: unknown.
func (t *Tally) averages(c sensing.Sensed) float64 {
	if in := t.Study.Instrument(c.Meter); in != nil {
		if rg := in.Range(c.Range); rg != nil && rg.Averages != nil {
			return rg.Averages.Value()
		}
	}
	return 0
}

func at(p sensing.Place, code string, sev sensing.Severity, text, do phrase.Phrase) sensing.Finding {
	return sensing.Finding{Code: code, Severity: sev, Board: p.Board.Name, Sitting: p.Sitting.Name,
		Rail: p.Rail.Name, States: []string{p.State}, Text: text, Do: do}
}
