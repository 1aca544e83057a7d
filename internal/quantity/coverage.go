package quantity

import "math/big"

const coverageForms = "(k=2), (95 %), (k=2, 95 %), (k=1, 85 dof)"

// covering is what a ± stands for; parts that were not written are zero.
type covering struct{ k, level, dof float64 }

// coverage reads what a ± stands for where it is written: a coverage factor, a probability, degrees of
// freedom or several of them, in brackets; a factor also behind a comma.
func (s *scanner) coverage() (c covering, err error) {
	back := *s
	s.space()
	_, bracket := s.lit("(")
	if !bracket {
		s.lit(",")
	}
	s.space()
	for {
		at := s.pos
		switch {
		case s.factorSign():
			if c.k != 0 {
				return covering{}, s.fail(at, coverageForms, "the coverage factor is written twice")
			}
			if c.k, err = s.positive(); err != nil {
				return covering{}, err
			}
			if c.k > 100 {
				return covering{}, s.fail(at, coverageForms, "a coverage factor above 100")
			}
		case bracket && s.freedom(&c.dof):
			if c.k == 0 {
				return covering{}, s.fail(at, coverageForms, "degrees of freedom go with a coverage factor before them")
			}
			if c.dof < 1 {
				return covering{}, s.fail(at, coverageForms, "at least one degree of freedom is needed")
			}
		case bracket && isDigit(s.peek()):
			if c.level != 0 {
				return covering{}, s.fail(at, coverageForms, "the coverage probability is written twice")
			}
			if c.level, err = s.probability(); err != nil {
				return covering{}, err
			}
		case bracket:
			return covering{}, s.unexpected(coverageForms)
		default:
			*s = back // nothing of the kind is written
			return covering{}, nil
		}
		if !bracket {
			return c, nil
		}
		s.space()
		if _, ok := s.lit(")"); ok {
			return c, nil
		}
		if _, ok := s.lit(",", ";"); !ok {
			return covering{}, s.unexpected(coverageForms)
		}
		s.space()
	}
}

// freedom takes "85 dof" or leaves the scanner where it was; a second one is not taken.
func (s *scanner) freedom(dof *float64) bool {
	t := *s
	if *dof != 0 || !isDigit(t.peek()) {
		return false
	}
	x, err := t.positive()
	if err != nil {
		return false
	}
	t.space()
	if _, ok := t.lit("dof"); !ok {
		return false
	}
	*s, *dof = t, x
	return true
}

// factorSign takes "k=".
func (s *scanner) factorSign() bool {
	t := *s
	if _, ok := t.lit("k", "K"); !ok {
		return false
	}
	t.space()
	if _, ok := t.lit("="); !ok {
		return false
	}
	t.space()
	*s = t
	return true
}

// positive reads a plain number above zero.
func (s *scanner) positive() (float64, error) {
	at := s.pos
	n, err := s.number(false)
	if err != nil {
		return 0, err
	}
	a, err := s.convert(n, measure{unit: None, scale: big.NewRat(1, 1)}, None, true)
	if err != nil {
		return 0, err
	}
	if a.value.Sign() <= 0 {
		return 0, s.fail(at, coverageForms, "a number above zero is wanted here")
	}
	return a.float(), nil
}

// probability reads "95 %", between 0 and 100 %.
func (s *scanner) probability() (float64, error) {
	at := s.pos
	n, err := s.number(false)
	if err != nil {
		return 0, err
	}
	m, err := s.measure(None, false)
	if err != nil {
		return 0, err
	}
	if m == nil {
		return 0, s.fail(at, coverageForms, "a coverage probability is written in %%")
	}
	a, err := s.convert(n, *m, None, true)
	if err != nil {
		return 0, err
	}
	level := a.float()
	if level <= 0 || level >= 1 {
		return 0, s.fail(at, coverageForms, "a coverage probability lies between 0 and 100 %%")
	}
	return level, nil
}
