package across

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// specimen finds in an identity what only one specimen has: a serial number, or
// the alias that its author keeps for one in all studies. An alias that was only
// counted says nothing outside its study.
var (
	specimen = regexp.MustCompile(`(?i)(?:\bserial(?:\s+(?:number|no\.?))?|\bs/?n|\bno\.|\bnr\.|№|#)\s*[:#]?\s*[\pL./-]*\d|withheld [0-9a-f]{8}$`)
	counted  = regexp.MustCompile(`withheld \d+$`)
)

func hasSpecimen(in *study.Instrument) bool {
	return specimen.MatchString(in.Ident) && !counted.MatchString(in.Ident)
}

// shareInstruments puts the instruments of both studies on one shelf, those that
// are one specimen once.
func (m *Merged) shareInstruments(a, b *side, same []string) error {
	for _, name := range same {
		x, y := a.Instrument(name), b.Instrument(name)
		switch {
		case x == nil || y == nil:
			return fmt.Errorf("no instrument is called %q in both studies: %s are", name, join(bothNames(a, b)))
		case !alike(x, y):
			return fmt.Errorf("%q cannot be one instrument: the studies describe it differently", name)
		}
	}
	m.Study.Instruments = append(m.Study.Instruments, a.Instruments...)
	for _, y := range b.Instruments {
		x := partner(a, y, same)
		if x != nil {
			b.instruments[y.Name] = x.Name
			m.Shared = append(m.Shared, x.Name)
			continue
		}
		m.Study.Instruments = append(m.Study.Instruments, y)
		if x = a.Instrument(y.Name); x == nil {
			continue
		}
		m.note("%s", twoOf(x, y, a.label, b.label))
		a.instruments[x.Name], b.instruments[y.Name] = labelled(x.Name, a.label), labelled(y.Name, b.label)
	}
	switch used := m.Shared; {
	case len(used) == 0:
		m.note("no instrument is known to be shared: every error of one study counts as independent of every error of the other")
	default:
		m.note("used in both studies: %s; what errors of one instrument have in common drops out of the differences", join(used))
	}
	return nil
}

// partner is the instrument of a study that is the same specimen, or nil.
func partner(a *side, y *study.Instrument, same []string) *study.Instrument {
	for _, x := range a.Instruments {
		switch {
		case !alike(x, y):
		case x.Name == y.Name && slices.Contains(same, y.Name):
			return x
		case hasSpecimen(x) && x.Ident == y.Ident:
			return x
		case x.Name == y.Name && calibrated(x) && x.Ident == y.Ident:
			return x
		}
	}
	return nil
}

// alike tells whether two instruments are described alike in everything that a
// figure follows from.
func alike(x, y *study.Instrument) bool {
	a, b := *x, *y
	a.Name, a.Note, a.Ident, b.Name, b.Note, b.Ident = "", "", "", "", "", ""
	return reflect.DeepEqual(a, b)
}

// calibrated tells whether an instrument has a calibration: one day's comparison
// of one specimen.
func calibrated(in *study.Instrument) bool {
	return in.Calibration != nil || slices.ContainsFunc(in.Ranges, func(r *study.Range) bool { return r.Calibration != nil })
}

// Doubtful lists the instruments of one name that are described alike in both
// studies, and of which nothing says whether they are one specimen.
func Doubtful(a, b *study.Study) []string {
	var out []string
	for _, y := range b.Instruments {
		x := a.Instrument(y.Name)
		if x != nil && alike(x, y) && x.Ident == y.Ident && partner(&side{Study: a}, y, nil) == nil {
			out = append(out, y.Name)
		}
	}
	return out
}

// twoOf says why two instruments of one name count as two.
func twoOf(x, y *study.Instrument, first, second string) string {
	a, b := *x, *y
	strip(&a)
	strip(&b)
	switch {
	case x.Ident != y.Ident && hasSpecimen(x) && hasSpecimen(y):
		return fmt.Sprintf("“%s” of %s and of %s are two: their serial numbers differ", x.Name, first, second)
	case !alike(x, y) && alike(&a, &b):
		return fmt.Sprintf("“%s” was calibrated anew between the studies: its errors of %s and of %s count as independent", x.Name, first, second)
	case !alike(x, y):
		return fmt.Sprintf("“%s” is described differently in the two studies, so it counts as two", x.Name)
	}
	return fmt.Sprintf("“%s” is in both studies, but neither a serial number nor a calibration says that it is one specimen, so it counts as two", x.Name)
}

// strip takes off an instrument's calibrations.
func strip(in *study.Instrument) {
	in.Calibration = nil
	in.Ranges = slices.Clone(in.Ranges)
	for i, r := range in.Ranges {
		c := *r
		c.Calibration = nil
		in.Ranges[i] = &c
	}
}

func bothNames(a, b *side) []string {
	var out []string
	for _, x := range a.Instruments {
		if b.Instrument(x.Name) != nil {
			out = append(out, x.Name)
		}
	}
	return out
}

func join(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return quantity.Join(names)
}
