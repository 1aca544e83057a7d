package tally

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"railtally/internal/quantity"
)

// The mass spectrometer values of Tietjen and Moore (1972), with G = 2.4687 and
// the one-sided critical value 2.0317 at 5 %, as the NIST/SEMATECH e-Handbook
// 1.3.5.17.1 gives them (from memory); a two-sided risk of 10 % has the same
// critical value. Then the two-sided 5 % values of Grubbs' table (ASTM E178, its
// one-sided 2.5 %; from memory).
func TestGrubbs(t *testing.T) {
	g, at := grubbs([]float64{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57})
	near(t, "G", g, 2.4687, 4e-5) // to a unit of the last digit printed
	near(t, "critical", grubbsLimit(8, 0.10), 2.0317, 4e-5)
	if at != 7 {
		t.Errorf("value %d stands apart", at)
	}
	for n, want := range map[int]float64{4: 1.481, 5: 1.715, 6: 1.887, 7: 2.020, 8: 2.126, 10: 2.290, 20: 2.709} {
		near(t, "critical", grubbsLimit(n, 0.05), want, 4e-4)
	}
	if _, at := grubbs([]float64{1, 2, 9}); at != -1 {
		t.Error("three values have an outlier")
	}
	if _, at := grubbs([]float64{2, 2, 2, 2}); at != -1 {
		t.Error("equal values have an outlier")
	}
}

// Sound repeats are questioned as seldom as the risk says.
func TestSoundRepeatsAreSeldomQuestioned(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const sets = 20000
	limits := map[int]float64{}
	questioned := 0
	for range sets {
		e := quantity.Entry{Kind: quantity.Repeats, Unit: quantity.Volt, Step: 1e-6}
		for range 6 {
			e.Values = append(e.Values, 1+0.01*r.NormFloat64())
		}
		if !stray(&e, limits).IsZero() {
			questioned++
		}
	}
	if rate := float64(questioned) / sets; math.Abs(rate-outlierRisk) > 0.0025 {
		t.Errorf("%.2f %% of sound sets are questioned, want 1 %%", 100*rate)
	}
}

// A misread repeat is questioned and stays; one digit of flicker is not.
func TestStrayRepeat(t *testing.T) {
	for reading, want := range map[string]bool{
		"2.001 2.003 2.002 2.004 2.001 2.402 V": true,
		"2.001 2.001 2.001 2.001 2.001 2.002 V": false,
		"2.001 2.001 2.001 2.001 2.001 2.004 V": true,
	} {
		b := newBench(t, "±1 %")
		b.board("one", "core at 1 V")
		b.sitting("s", "one", map[string][]string{"bare": {"core: " + reading + ", 1.000 V"}})
		ta := b.run()
		f := has(ta, "stray-repeat")
		if (f != nil) != want {
			t.Errorf("%s: finding %v", reading, f)
		}
		if f != nil && f.Rail != "core" {
			t.Errorf("%s: %+v", reading, f)
		}
		near(t, reading, ta.total("one", "bare").Estimate, b.entry(reading, quantity.Volt).Value(), 1e-9)
	}
}

// A total that was misread is named; every other study of sums has none.
func TestMisfitIsNamed(t *testing.T) {
	add := map[string]float64{"0": 0, "1": 0.25, "4": 1, "none": 0, "copy": 0.5}
	states := [][]string{{"0", "none"}, {"0", "copy"}, {"1", "none"}, {"1", "copy"}, {"4", "none"}, {"4", "copy"}}
	for off, want := range map[float64]bool{0: false, 0.2: true} {
		ta := factored(t, twoFactors, []string{"drives", "load"}, states, func(l []string) float64 {
			v := 2 + add[l[0]] + add[l[1]]
			if strings.Join(l, " ") == "4 copy" {
				v += off
			}
			return v
		})
		f := has(ta, "total-misfit")
		if (f != nil) != want {
			t.Errorf("off by %g: finding %v", off, f)
		}
		if f != nil && !strings.Contains(f.Text.String(), "standard deviations") {
			t.Error(f.Text)
		}
	}
}
