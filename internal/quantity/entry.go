package quantity

// Kind tells how an entry was written.
type Kind int

// The three ways to write a reading.
const (
	Single  Kind = iota // one value
	Repeats             // the same reading taken several times
	Band                // a display that wandered between two values
)

// String returns "single", "repeats" or "band".
func (k Kind) String() string {
	switch k {
	case Repeats:
		return "repeats"
	case Band:
		return "band"
	}
	return "single"
}

// Tolerance is the ± part of an entry, as absolute half widths in the entry's SI unit.
// Both are at least zero; a relative tolerance has been multiplied by the value.
type Tolerance struct {
	Minus, Plus float64
	K           float64 // coverage factor of an expanded uncertainty, "(k=2)"; 0 where none was written
	Level       float64 // coverage probability as a fraction, "(95 %)"; 0 where none was written
	// DOF is how many degrees of freedom the uncertainty has, "(k=1, 85 dof)": that of a mean of a logged
	// window, say. 0 where none was written.
	DOF float64
}

// Limits reports whether the tolerance was written without k or probability, so that it states
// limits that the value lies within.
func (t Tolerance) Limits() bool { return t.K == 0 && t.Level == 0 && t.DOF == 0 }

// Entry is one thing that was typed, understood.
type Entry struct {
	Kind   Kind
	Values []float64 // in SI: Single has one, Repeats at least two in the order written, Band {lo, hi} with lo <= hi
	Unit   Unit
	Tol    *Tolerance // nil where none was written
	Step   float64    // place value of the last digit written, in SI; the coarsest where several values were written
	Text   string     // what was typed
}

// Value returns the single value, the mean of the repeats or the middle of the band, in SI.
// It is zero for an entry without values.
func (e Entry) Value() float64 {
	switch {
	case len(e.Values) == 0:
		return 0
	case e.Kind == Band && len(e.Values) == 2:
		return e.Values[0] + (e.Values[1]-e.Values[0])/2
	}
	// The running mean keeps equal repeats exactly equal to their mean.
	mean := 0.0
	for i, v := range e.Values {
		mean += (v - mean) / float64(i+1)
	}
	return mean
}
