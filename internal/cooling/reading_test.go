package cooling

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/quantity"
	"railtally/internal/study"
)

// lid adds readings of a lid, in °C and one a minute, to the end of Otter's sitting
// in April; a NaN is a step of another state between them.
func lid(t *testing.T, celsius ...float64) *Point {
	t.Helper()
	tl := tallied(t, example.Seed, "")
	for _, x := range tl.Study.Sittings {
		if x.Name != "April" {
			continue
		}
		last := x.Steps[len(x.Steps)-1].At
		for i, v := range celsius {
			step := &study.Step{At: last.Add(time.Duration(i+1) * time.Minute), State: "four-busy"}
			if math.IsNaN(v) {
				step.State = "bare"
			} else {
				step.Temperatures = []*study.Named{{Name: "lid", Reading: study.Reading{Entry: *entry(t, quantity.Format(v, quantity.Celsius, 3), quantity.Celsius)}}}
			}
			x.Steps = append(x.Steps, step)
		}
	}
	p := run(t, tl, Options{Board: "Otter"}).Boards[0].Named("lid")
	if p == nil || len(p.Readings) != 1 {
		t.Fatalf("%+v", p)
	}
	return p
}

// A few readings that still rise are no repeats of a settled one; readings that
// stay where they are, and a state that was come back to, are.
func TestFewReadings(t *testing.T) {
	away := math.NaN()
	for _, x := range []struct {
		celsius []float64
		want    float64 // NaN: nothing is claimed
		says    string
	}{
		{[]float64{60.1}, 60.1, ""},
		{[]float64{60.1, 60.3}, 60.2, ""},
		{[]float64{54.8, 56.5, 57.7}, math.NaN(), "3 readings, from 54.8 to 57.7 °C"},
		{[]float64{60.1, away, 61.5}, 60.8, ""}, // each time it had settled
		{[]float64{54.8, 56.5, away, 60.2}, 60.2, ""},
		{[]float64{54.8, 56.5, away, 55.0, 57.0}, math.NaN(), "2 readings"},
	} {
		r := lid(t, x.celsius...).Readings[0]
		switch {
		case math.IsNaN(x.want):
			if r.Unsettled == nil || !strings.Contains(r.Unsettled.Error(), x.says) {
				t.Errorf("%v: %v", x.celsius, r.Unsettled)
			}
		case r.Unsettled != nil || math.Abs(r.Temperature.Estimate-x.want) > 0.01:
			t.Errorf("%v: %g °C, %v; want %g °C", x.celsius, r.Temperature.Estimate, r.Unsettled, x.want)
		}
	}
}

// Two series of one state, with another state between, settle each by itself.
func TestStateComeBackTo(t *testing.T) {
	var list []float64
	warm := func(from float64) {
		for i := range 25 {
			list = append(list, 66-(66-from)*math.Exp(-float64(i)/4))
		}
	}
	warm(40)
	list = append(list, math.NaN())
	warm(52)
	list = append(list, math.NaN(), 40, 42, 44, 46, 48, 50) // and one that ends too early
	r := lid(t, list...).Readings[0]
	if r.Unsettled != nil || r.Settling == nil || len(r.Seconds) != 25 || math.Abs(r.Temperature.Estimate-66) > 0.3 {
		t.Errorf("%g °C from a series of %d, %v", r.Temperature.Estimate, len(r.Seconds), r.Unsettled)
	}
}

// A series that ends too early beside a settled reading is no series to show.
func TestSeriesBesideASettledReading(t *testing.T) {
	r := lid(t, 66, math.NaN(), 40, 42, 44, 46, 48, 50).Readings[0]
	if r.Unsettled != nil || r.Settling != nil || r.Seconds != nil || r.Temperature.Estimate != 66 {
		t.Errorf("%+v", r)
	}
}

// Why nothing is claimed is said in minutes and in words.
func TestTooEarlyInWords(t *testing.T) {
	at := make([]float64, 12)
	level, drift := make([]float64, 12), make([]float64, 12)
	for i := range at {
		at[i] = 60 * float64(i)
		level[i] = 26 + 2*math.Sin(float64(5*i))
		drift[i] = 30 + 0.5*float64(i)
	}
	for _, x := range []struct {
		celsius []float64
		says    string
	}{{level, "in 11 min no change stands out"}, {drift, "after 11 min a steady drift would fit as well"}} {
		_, err := Settle(at, x.celsius, 23, study.StillAir)
		if err == nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("%v; want %q", err, x.says)
		}
	}
}

// An interface that is stated is held against what was read, and more than that
// is questioned.
func TestStatedInterface(t *testing.T) {
	for text, odd := range map[string]bool{"30 K/W": true, "1.1 ± 0.1 K/W": false, "0.2 K/W": false} {
		section := strings.Replace(described, "    chip side:", "    interface: "+text+"\n    chip side:", 1)
		b := run(t, tallied(t, example.Seed, section), Options{Board: "Otter"}).Boards[0]
		found := false
		for _, f := range b.Findings {
			found = found || f.Code == "interface"
		}
		if found != odd {
			t.Errorf("%s: questioned %v, want %v", text, found, odd)
		}
	}
}

// A junction's prediction rests on the readings of the case.
func TestJunctionRestsOnTheCase(t *testing.T) {
	c := run(t, tallied(t, example.Seed, described), Options{Board: "Otter", Limits: []*study.TempLimit{{Name: "junction", Max: *entry(t, "80 °C", quantity.Celsius)}}})
	list, err := c.Answers(c.Boards[0])
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(list, func(a Answer) bool {
		return strings.Contains(a.Rests.String(), "7 readings of case") && strings.Contains(a.Rests.String(), "the junction above the case")
	}) {
		t.Errorf("%+v", list)
	}
}
