package notebook

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// ProposeRoles guesses by names and units what the channels of a log are on the boards of a study. A
// person looks at it before it is used: nothing is certain in a name.
func ProposeRoles(s *study.Study, channels []Channel) map[string]ChannelRole {
	out := map[string]ChannelRole{}
	taken := map[ChannelRole]bool{}
	for _, c := range channels {
		r, ok := proposeRole(s, c)
		if ok && !taken[r] {
			taken[r] = true
			out[c.Name] = r
		}
	}
	return out
}

func proposeRole(s *study.Study, c Channel) (ChannelRole, bool) {
	name := wordsOf(c.Name)
	switch c.Unit {
	case quantity.Celsius:
		return ChannelRole{Is: Temperature, Name: c.Name}, true
	case quantity.BytePerSecond:
		return ChannelRole{Is: Throughput}, true
	case quantity.Volt, quantity.Ampere:
	default:
		return ChannelRole{}, false
	}
	best, rail := 0, (*study.Rail)(nil)
	for _, b := range s.Boards {
		for _, r := range b.Rails {
			if w := wordsOf(r.Name); strings.Contains(name, w) && len(w) > best {
				best, rail = len(w), r
			}
		}
	}
	if rail == nil {
		return ChannelRole{}, false
	}
	var tap *study.Tap
	for _, t := range rail.Taps {
		if t.Name == "" && len(rail.Taps) == 1 || t.Name != "" && strings.Contains(name, wordsOf(t.Name)) {
			tap = t
		}
	}
	saysCurrent := strings.Contains(name, " current ") || strings.Contains(name, " clamp ") || strings.Contains(name, " i ")
	switch {
	case c.Unit == quantity.Volt && !saysCurrent:
		return ChannelRole{Is: Voltage, Rail: rail.Name}, true
	case tap != nil && tap.Shows() == c.Unit:
		return ChannelRole{Is: Current, Rail: rail.Name, Tap: tap.Name}, true
	}
	return ChannelRole{}, false
}

// wordsOf is a name as words between blanks, in small letters.
func wordsOf(name string) string {
	fields := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' })
	return " " + strings.Join(fields, " ") + " "
}

// CheckRole says why a channel cannot be what it is taken for, or nil.
func CheckRole(s *study.Study, c Channel, r ChannelRole) error {
	want := map[Kind]quantity.Unit{Voltage: quantity.Volt, Temperature: quantity.Celsius, Throughput: quantity.BytePerSecond}[r.Is]
	if r.Is == Current || r.Is == Voltage {
		var rails []string
		var tap *study.Tap
		found := false
		for _, b := range s.Boards {
			for _, x := range b.Rails {
				if !slices.Contains(rails, x.Name) {
					rails = append(rails, x.Name)
				}
				if x.Name == r.Rail {
					found = true
					if t := x.Tap(r.Tap); t != nil {
						tap = t
					}
				}
			}
		}
		if !found {
			return fmt.Errorf("%s: no board has a rail %q (accepted: %s)", c.Name, r.Rail, strings.Join(rails, ", "))
		}
		if r.Is == Current {
			if tap == nil {
				return fmt.Errorf("%s: the rail %s has no tap %q", c.Name, r.Rail, r.Tap)
			}
			want = tap.Shows()
		}
	}
	if c.Unit != want {
		return fmt.Errorf("%s is in %s, and the %s of %s is read in %s (a profile may give the column a scale)",
			c.Name, orNone(c.Unit), r.Is, strings.TrimSpace(r.Rail+" "+r.Name), want.Symbol())
	}
	return nil
}

func orNone(u quantity.Unit) string {
	if u.Symbol() == "" {
		return "no unit"
	}
	return u.Symbol()
}
