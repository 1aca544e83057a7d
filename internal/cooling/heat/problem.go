package heat

import (
	"fmt"
	"math"
	"strings"
)

// Problem is one thing about a description that cannot be. Field is its name
// in words, as a person fills it in: "fin thickness".
type Problem struct {
	Field, Message, Accept string
}

// Problems are all that is wrong with a description at once; as an error they
// are one line.
type Problems []Problem

// Error joins the problems.
func (p Problems) Error() string {
	parts := make([]string, len(p))
	for i, x := range p {
		parts[i] = fmt.Sprintf("%s: %s (accepted: %s)", x.Field, x.Message, x.Accept)
	}
	return strings.Join(parts, "; ")
}

// orNil is the problems as an error, nil when there are none.
func (p Problems) orNil() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

// within notes a value outside lo to hi, both accepted. unit and scale print it
// as a person writes it: mm and 1000 for a length in metres.
func (p *Problems) within(field string, x, lo, hi, scale float64, unit string) bool {
	if x >= lo && x <= hi {
		return true
	}
	if unit != "" {
		unit = " " + unit
	}
	accept := fmt.Sprintf("%.5g to %.5g%s", lo*scale, hi*scale, unit)
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		*p = append(*p, Problem{field, "not a finite number", accept})
	default:
		*p = append(*p, Problem{field, fmt.Sprintf("%.5g%s cannot be computed", x*scale, unit), accept})
	}
	return false
}

func (p *Problems) length(field string, x, lo, hi float64) bool {
	return p.within(field, x, lo, hi, 1000, "mm")
}
