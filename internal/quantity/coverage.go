package quantity

import "math/big"

const coverageForms = "(k=2), (95 %), (k=2, 95 %)"

// coverage reads what a ± stands for where it is written: a coverage factor, a probability or
// both, in brackets or behind a comma. Without it k and level are zero.
func (s *scanner) coverage() (k, level float64, err error) {
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
			if k != 0 {
				return 0, 0, s.fail(at, coverageForms, "the coverage factor is written twice")
			}
			if k, err = s.positive(); err != nil {
				return 0, 0, err
			}
			if k > 100 {
				return 0, 0, s.fail(at, coverageForms, "a coverage factor above 100")
			}
		case bracket && isDigit(s.peek()):
			if level != 0 {
				return 0, 0, s.fail(at, coverageForms, "the coverage probability is written twice")
			}
			if level, err = s.probability(); err != nil {
				return 0, 0, err
			}
		case bracket:
			return 0, 0, s.unexpected(coverageForms)
		default:
			*s = back // nothing of the kind is written
			return 0, 0, nil
		}
		if !bracket {
			return k, level, nil
		}
		s.space()
		if _, ok := s.lit(")"); ok {
			return k, level, nil
		}
		if _, ok := s.lit(",", ";"); !ok {
			return 0, 0, s.unexpected(coverageForms)
		}
		s.space()
	}
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
