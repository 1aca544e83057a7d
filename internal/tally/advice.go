package tally

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/sensing"
)

// quantile is that of Student's t, or of the normal distribution for infinite
// degrees of freedom.
func quantile(p, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(p)
}

// hopeless is the part of its standard uncertainty to which a figure would have
// to come down for advice to be no longer worth giving (a tenth; our own choice).
const hopeless = 0.1

// manyRepeats is how many times as many repeats it is still sensible to ask for
// (our own choice).
const manyRepeats = 20

// advice says what would bring a figure's standard uncertainty down to needed:
// which causes stand in the way, largest first, and what is done about each.
func (t *Tally) advice(f Figure, needed float64, remedies map[string]phrase.Phrase) ([]phrase.Phrase, error) {
	if f.U == 0 || needed >= f.U {
		return nil, nil
	}
	if needed < hopeless*f.U {
		return []phrase.Phrase{phrase.New("The standard uncertainty would have to come down to %.2g %% of what it is, were the estimate to stay: the figure lies so near the limit that no ordinary effort will decide it.", 100*needed/f.U)}, nil
	}
	causes, err := t.Graph.BudgetBy(f.Value, sensing.TagCause)
	if err != nil {
		return nil, err
	}
	out := []phrase.Phrase{phrase.New("The standard uncertainty would have to come down to %.0f %% of what it is, were the estimate to stay.", 100*needed/f.U)}
	left := 1.0
	for _, c := range causes {
		if left <= needed*needed/(f.U*f.U) || c.Fraction <= 0 {
			break
		}
		remedy, ok := remedies[c.Name]
		if !ok {
			remedy = t.remedy(c, f, needed, left)
		}
		out = append(out, phrase.New("%s makes %.0f %% of the variance: %s.", causeName(c).Capital(), 100*c.Fraction, remedy))
		left -= c.Fraction
		if len(out) > 3 {
			break
		}
	}
	return out, nil
}

func causeName(c gum.Share) phrase.Phrase {
	if c.Name == "" {
		return phrase.New("what has no cause recorded")
	}
	return phrase.Word(c.Name)
}

// remedy is what lessens a cause. left is the part of the variance that remains
// when the larger causes are gone.
func (t *Tally) remedy(c gum.Share, f Figure, needed, left float64) phrase.Phrase {
	switch c.Name {
	case sensing.CauseScatter:
		// The variance of a mean goes with one over the number of repeats.
		if room := needed*needed/(f.U*f.U) - (left - c.Fraction); room > 0 {
			if times := math.Ceil(c.Fraction / room); times <= manyRepeats {
				return phrase.New("about %.0f times as many repeats", times)
			}
		}
		return phrase.New("more repeats help, but not enough by themselves")
	case sensing.CauseBand:
		return phrase.New("write down ten single readings instead of a band, or let the meter average")
	case sensing.CauseZero, sensing.CauseDrift:
		return phrase.New("take a fresh zero just before and just after the reading")
	case sensing.CausePosition:
		return phrase.New("hold the wire centred in the jaw, or mount it anew in further sittings")
	case sensing.CauseResolution:
		return phrase.New("more turns through the jaw, or a lower range")
	case sensing.CauseClampSpec, sensing.CauseMeterSpec, sensing.CauseThermometer:
		return phrase.New("calibrate that instrument against a better one, or use the better one")
	case sensing.CauseCal:
		return phrase.New("a calibration with a smaller uncertainty")
	case sensing.CauseShunt:
		return phrase.New("a shunt of closer tolerance, or measure its resistance")
	case sensing.CauseEMF:
		return phrase.New("take a zero at the same temperature, or reverse the leads")
	case sensing.CauseWinding:
		return phrase.New("read the winding's temperature")
	case sensing.CauseNominal:
		return phrase.New("read the voltage")
	case sensing.CauseBound:
		return phrase.New("open the rail, or bound its current more closely")
	case sensing.CauseOthers:
		return phrase.New("measure what the other parts draw, with the chip held in reset")
	case sensing.CauseEfficiency:
		return phrase.New("measure the converter's input")
	case sensing.CauseLoop:
		return phrase.New("read the voltage at the chip's side of the loop")
	case sensing.CauseWindow:
		return phrase.New("average over whole periods of the load")
	case sensing.CauseBurst:
		return phrase.New("log voltage and current together")
	case sensing.CauseSitting:
		return phrase.New("measure the state in further sittings")
	}
	return phrase.New("look into its budget")
}
