package plan

import (
	"context"
	"fmt"
	"strings"
	"time"

	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// mostAlone is how many changes are named of those that help by themselves.
const mostAlone = 3

// hopeless is the part of its half-width to which an interval would have to come
// down for it to be said that no ordinary effort does it (a tenth; our own
// choice).
const hopeless = 0.1

// Sentences says what would settle a doubt, in the figure's unit.
func (s Settling) Sentences(unit quantity.Unit) []string {
	pm := func(x float64) string { return "±" + quantity.Format(x, unit, 2) }
	out := []string{fmt.Sprintf("The interval is %s and would have to be %s or narrower, were the estimate to stay.", pm(s.Now), pm(s.Needed))}
	if s.Needed < hopeless*s.Now {
		out = append(out, "The estimate lies so near the limit that no ordinary effort will decide it.")
	}
	switch {
	case len(s.Alone) == 0:
		return append(out, "Neither more readings, nor fresh zeros, nor another sitting would narrow it by as much as a fiftieth.")
	case s.Enough:
		out = append(out, fmt.Sprintf("Enough, in about %s of work: %s.", hours(s.Effort()), steps(s.Together, pm)))
	default:
		out = append(out, fmt.Sprintf("Not even all of this would be enough: %s.", steps(s.Together, pm)))
		if s.Left != "" {
			out = append(out, fmt.Sprintf("What is left is mostly %s.", s.Left))
		}
	}
	var alone []string
	for _, a := range s.Alone {
		in := false
		for _, b := range s.Together {
			in = in || len(s.Together) == 1 && a.Text == b.Text
		}
		if !in && len(alone) < mostAlone {
			alone = append(alone, fmt.Sprintf("%s (%s)", a.Text, pm(a.After)))
		}
	}
	if len(alone) > 0 {
		out = append(out, fmt.Sprintf("Each by itself: %s.", strings.Join(alone, "; ")))
	}
	if s.SittingUnknown && usesDays(s) {
		out = append(out, "What the day itself makes is not assessed, and further sittings are counted as if it made nothing.")
	}
	return out
}

func usesDays(s Settling) bool {
	for _, a := range append(append([]Advice(nil), s.Together...), s.Alone[:min(len(s.Alone), mostAlone)]...) {
		if a.Kind == MoreDays {
			return true
		}
	}
	return false
}

// steps lists changes with what each brings the interval down to.
func steps(list []Advice, pm func(float64) string) string {
	var out []string
	for _, a := range list {
		text := fmt.Sprintf("%s (to %s)", a.Text, pm(a.After))
		if a.Cost != "" {
			text += ", which costs " + a.Cost
		}
		out = append(out, text)
	}
	return strings.Join(out, "; then ")
}

// hours is a time of work for people: "20 min", "3 h".
func hours(d time.Duration) string {
	if d < 100*time.Minute {
		return fmt.Sprintf("%.0f min", max(1, d.Minutes()))
	}
	return fmt.Sprintf("%.0f h", d.Hours())
}

// mostDoubts is how many differences, and claims, a tally's advice is worked out
// for; the others keep the tally's own.
const mostDoubts = 10

// mostReadings is up to how many readings of rails a figure may rest on for the
// advice on it to be worked out: each change that could be made tallies them
// again (our own choice).
const mostReadings = 500

// Advise works out, for the differences of a tally that are not resolved and its
// claims that are undecided, what would settle them, and puts that in place of
// the tally's own advice, which only names causes.
func Advise(ctx context.Context, t *tally.Tally) error {
	n := 0
	for _, d := range t.Differences {
		if n == mostDoubts && d.Verdict == tally.NotResolved {
			d.Advice = append(d.Advice, notWorkedOut())
			continue
		}
		x, ok, err := DoubtOfDifference(t, d)
		if err == nil && ok {
			n++
			d.Advice, err = x.said(ctx, d.Advice, quantity.Watt)
		}
		if err != nil {
			return fmt.Errorf("advice on %s against %s: %w", d.First.On(), d.Second.On(), err)
		}
	}
	n = 0
	for _, c := range t.Claims {
		if n == mostDoubts && c.Judgement == tally.Undecided {
			c.Advice = append(c.Advice, notWorkedOut())
			continue
		}
		x, ok, err := DoubtOfClaim(t, c)
		if err == nil && ok {
			n++
			c.Advice, err = x.said(ctx, c.Advice, c.Kind.Unit())
		}
		if err != nil {
			return fmt.Errorf("advice on claim %d: %w", c.Number, err)
		}
	}
	return nil
}

// notWorkedOut says that a figure keeps the tally's own advice.
func notWorkedOut() phrase.Phrase {
	return phrase.New("What would settle it is worked out for the first %d such figures only.", mostDoubts)
}

// said works out what would settle the doubt; own is the tally's advice, which
// stays where that would take too long.
func (x *Doubt) said(ctx context.Context, own []phrase.Phrase, unit quantity.Unit) ([]phrase.Phrase, error) {
	if n := x.readings(); n > mostReadings {
		return append(own, phrase.New("What would settle it is not worked out here: it rests on %d readings of rails, and for more than %d that takes long. The page of the figure works it out by itself.", n, mostReadings)), nil
	}
	s, err := x.Settle(ctx)
	if err != nil {
		return nil, err
	}
	var out []phrase.Phrase
	for _, text := range s.Sentences(unit) {
		out = append(out, phrase.Name(text))
	}
	return out, nil
}
