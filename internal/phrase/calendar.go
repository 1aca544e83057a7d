package phrase

import (
	"fmt"
	"strings"
	"time"
)

// month gives a month's name.
func month(m time.Month) Phrase {
	return [...]Phrase{
		New("January"), New("February"), New("March"), New("April"), New("May"), New("June"), New("July"),
		New("August"), New("September"), New("October"), New("November"), New("December"),
	}[m-1]
}

// Day writes a date for people, without a break: "14 March 2026".
func (l *Language) Day(t time.Time) string {
	return l.Text("%d\u00a0%s\u00a0%d", t.Day(), month(t.Month()), t.Year())
}

// Days writes a span of dates, each part once: "14 to 15 March 2026".
func (l *Language) Days(first, last time.Time) string {
	switch {
	case first.Year() == last.Year() && first.Month() == last.Month():
		return l.Text("%d to %s", first.Day(), last)
	case first.Year() == last.Year():
		return l.Text("%d\u00a0%s to %s", first.Day(), month(first.Month()), last)
	}
	return l.Text("%s to %s", first, last)
}

// count writes a number in words where it is small.
func (l *Language) count(n int) string {
	words := strings.Fields(l.Text("no one two three four five six seven eight nine ten eleven twelve"))
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}
