package studyfile

import (
	"time"
)

// The forms of a day and of a time of day. A file holds the clock on the wall,
// without a zone, and the record keeps it as UTC: a study compares its own
// times only.
const dayForm = "2006-01-02"

var (
	clockForms = []string{"15:04:05", "15:04"}
	fullForms  = []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}
)

// maxPause is how long after the step before it a step that is written by its
// time of day alone may be. A longer one comes more likely from a slip of the
// pen than from a night's rest in one unbroken sitting.
const maxPause = 12 * time.Hour

// fullTime reads a day with a time of day.
func fullTime(text string) (time.Time, bool) {
	for _, form := range fullForms {
		if t, err := time.Parse(form, text); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// stepTime reads the time of a step. A time of day alone means the first such
// time not before the step before it; pause is then how long after it that is.
func stepTime(text string, before time.Time) (t time.Time, pause time.Duration, ok bool) {
	if t, ok := fullTime(text); ok {
		return t, 0, true
	}
	for _, form := range clockForms {
		c, err := time.Parse(form, text)
		if err != nil {
			continue
		}
		y, m, d := before.Date()
		t = time.Date(y, m, d, c.Hour(), c.Minute(), c.Second(), c.Nanosecond(), time.UTC)
		if t.Before(before) {
			t = t.AddDate(0, 0, 1)
		}
		return t, t.Sub(before), true
	}
	return time.Time{}, 0, false
}
