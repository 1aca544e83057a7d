package chart

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func TestRefuseWhatIsNoNumber(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		total := evening(t)
		total.State(on("Otter", "bare")).Total.Estimate = bad
		interval := evening(t)
		interval.State(on("Otter", "bare")).Total.Expanded = bad
		rail := evening(t)
		rail.State(on("Otter", "bare")).Rail("core").Power.Estimate = bad
		volts := evening(t)
		volts.State(on("Otter", "bare")).Rail("core").Voltage.Expanded = bad
		difference := evening(t)
		difference.Differences[0].Difference.Estimate = bad
		for _, c := range []struct {
			name string
			draw func() (*Drawing, error)
			want string
		}{
			{"totals", func() (*Drawing, error) { return Totals(total, Options{}) }, "Otter bare: total"},
			{"totals, interval", func() (*Drawing, error) { return Totals(interval, Options{}) }, "Otter bare: total"},
			{"stack", func() (*Drawing, error) { return Stack(rail, "Otter", Options{}) }, "Otter bare, core: power"},
			{"lanes", func() (*Drawing, error) { return Lanes(rail, on("Otter", "bare"), Options{}) }, "Otter bare, core: power"},
			{"lanes, voltage", func() (*Drawing, error) { return Lanes(volts, on("Otter", "bare"), Options{}) }, "Otter bare, core: voltage"},
			{"differences", func() (*Drawing, error) { return Differences(difference, Options{}) }, "Otter one-busy − Otter one-idle"},
		} {
			if _, err := c.draw(); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s with %g: got error %v, want one that names %q", c.name, bad, err, c.want)
			}
		}
	}
}

func TestRefuseOptions(t *testing.T) {
	ev := evening(t)
	for _, o := range []Options{
		{Width: -1}, {Width: math.NaN()}, {Width: math.Inf(1)}, {Width: 100}, {Width: 1e6},
		{Height: -5}, {Height: math.NaN()}, {Height: 1e9}, {Height: 40}, {Type: 1}, {Type: 300},
	} {
		if _, err := Totals(ev, o); err == nil {
			t.Errorf("%+v was accepted", o)
		}
	}
	d, err := Totals(ev, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, scale := range []float64{0, -1, math.NaN(), math.Inf(1), 1e4} {
		if err := d.WritePNG(new(bytes.Buffer), scale); err == nil {
			t.Errorf("PNG at scale %g was accepted", scale)
		}
	}
}

func TestRefuseUnknownNames(t *testing.T) {
	ev := evening(t)
	if _, err := Stack(ev, "Badger", Options{}); err == nil || !strings.Contains(err.Error(), "Badger") {
		t.Errorf("stack of an unknown board: %v", err)
	}
	for name, draw := range map[string]func() (*Drawing, error){
		"matrix":    func() (*Drawing, error) { return Matrix(ev, "Badger", Options{}) },
		"waterfall": func() (*Drawing, error) { return Waterfall(ev, "Badger", Options{}) },
		"shares":    func() (*Drawing, error) { return Shares(ev, on("Badger", "busy"), Options{}) },
	} {
		if _, err := draw(); err == nil || !strings.Contains(err.Error(), "Badger") {
			t.Errorf("%s of an unknown board: %v", name, err)
		}
	}
	if _, err := Lanes(ev, on("Otter", "asleep"), Options{}); err == nil || !strings.Contains(err.Error(), "asleep") {
		t.Errorf("lanes of an unknown state: %v", err)
	}
}
