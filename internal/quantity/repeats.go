package quantity

import (
	"math/big"
	"unicode/utf8"
)

// repeats refuses what could be one number with its thousands set apart: "1 234.5".
func (p *entryParser) repeats(terms []term) (Entry, error) {
	if p.looksGrouped(terms) {
		return Entry{}, p.fail(terms[0].n.start, "the number without spaces, or the values with a comma and a space between them",
			"this may be one number with its thousands set apart, or several values")
	}
	a, err := p.amounts(terms)
	if err != nil {
		return Entry{}, err
	}
	return build(Repeats, a), nil
}

// looksGrouped reports whether numbers separated only by spaces look like one number in groups of
// three digits rather than like repeats: every group is full and the first is less than a tenth
// of what a group holds, or a group starts with zero.
func (p *entryParser) looksGrouped(terms []term) bool {
	odd := false
	for i, t := range terms {
		n := t.n
		if i == 0 {
			if n.lead > 3 || n.zero || !n.short || n.digits == "" {
				return false
			}
			continue
		}
		before := terms[i-1]
		if before.m != nil || !before.n.short || n.lead != 3 || isSigned(p.text[n.start:]) || hasSeparator(p.text[before.n.end:n.start]) {
			return false
		}
		odd = odd || n.zero
	}
	first, second := terms[0].n.rat(), terms[1].n.rat()
	first.Abs(first)
	return odd || first.Mul(first, big.NewRat(10, 1)).Cmp(second) <= 0
}

func isSigned(text string) bool {
	r, _ := utf8.DecodeRuneInString(text)
	return r == '+' || isDash(r)
}

func hasSeparator(text string) bool {
	for _, r := range text {
		if r == ',' || r == ';' {
			return true
		}
	}
	return false
}
