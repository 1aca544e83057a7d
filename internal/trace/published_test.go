package trace

import (
	"bufio"
	"encoding/json"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

type nistSet struct {
	File     string
	N        int
	Start    int `json:"data_starts_at_line"`
	Mean, SD string
	Lag1     string
}

func readNIST(t testing.TB) map[string]nistSet {
	t.Helper()
	var all struct{ Datasets map[string]nistSet }
	text, err := os.ReadFile("testdata/nist-univariate.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	if len(all.Datasets) != 9 {
		t.Fatalf("%d data sets", len(all.Datasets))
	}
	return all.Datasets
}

func (s nistSet) data(t testing.TB) []float64 {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", s.File))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var v []float64
	sc := bufio.NewScanner(f)
	for line := 1; sc.Scan(); line++ {
		if line < s.Start {
			continue
		}
		for w := range strings.FieldsSeq(sc.Text()) {
			x, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			v = append(v, x)
		}
	}
	if len(v) != s.N {
		t.Fatalf("%s: %d values, want %d", s.File, len(v), s.N)
	}
	return v
}

// digits returns the number of agreeing digits, the log relative error that NIST uses.
func digits(got, want float64) float64 {
	if got == want {
		return 17
	}
	return -math.Log10(math.Abs(got-want) / math.Abs(want))
}

// exactMoments computes mean and standard deviation of the float64 values in 300-bit arithmetic.
func exactMoments(v []float64) (mean, sd float64) {
	num := func(x float64) *big.Float { return new(big.Float).SetPrec(300).SetFloat64(x) }
	sum := num(0)
	for _, x := range v {
		sum.Add(sum, num(x))
	}
	n := num(float64(len(v)))
	m := num(0).Quo(sum, n)
	q := num(0)
	for _, x := range v {
		d := num(0).Sub(num(x), m)
		q.Add(q, d.Mul(d, d))
	}
	q.Quo(q, num(float64(len(v)-1)))
	mean, _ = m.Float64()
	sd, _ = q.Sqrt(q).Float64()
	return mean, sd
}

// TestNISTUnivariate: NIST StRD. The certified values belong to the decimal data. float64 rounds those,
// which costs as many digits of the deviation as the mean exceeds it by (NumAcc4: 8); the statistics
// are therefore also compared with exact arithmetic on the float64 values.
func TestNISTUnivariate(t *testing.T) {
	certified := map[string]float64{"NumAcc3": 9, "NumAcc4": 8, "NumAcc2": 14, "Mavro": 12.5, "Michelso": 13}
	for name, set := range readNIST(t) {
		v := set.data(t)
		m := MomentsOf(v)
		mean, _ := strconv.ParseFloat(set.Mean, 64)
		sd, _ := strconv.ParseFloat(set.SD, 64)
		want, ok := certified[name]
		if !ok {
			want = 14
		}
		if d := digits(m.Mean(), mean); d < 14 {
			t.Errorf("%s: mean %.17g agrees with %s to %.1f digits", name, m.Mean(), set.Mean, d)
		}
		if d := digits(m.SD(), sd); d < want {
			t.Errorf("%s: sd %.17g agrees with %s to %.1f digits", name, m.SD(), set.SD, d)
		}
		xm, xs := exactMoments(v)
		if m.Mean() != xm {
			t.Errorf("%s: mean %.17g, exactly %.17g", name, m.Mean(), xm)
		}
		if d := digits(m.SD(), xs); d < 14.5 {
			t.Errorf("%s: sd agrees with exact arithmetic to %.1f digits", name, d)
		}
		// Streamed one by one, the result is the same.
		var one Moments
		for _, x := range v {
			one.Add(x)
		}
		if one.Mean() != m.Mean() || digits(one.SD(), m.SD()) < 14.5 || one.Min != m.Min || one.Max != m.Max {
			t.Errorf("%s: one by one %+v, in blocks %+v", name, one, m)
		}
		lag, _ := strconv.ParseFloat(set.Lag1, 64)
		if d := digits(Correlate(v).Lag1, lag); d < 7 {
			t.Errorf("%s: lag-one autocorrelation %v, certified %s (%.1f digits)", name, Correlate(v).Lag1, set.Lag1, d)
		}
	}
}

type analyticCase struct {
	ID               string
	Inputs, Expected json.RawMessage
	Data             []float64
}

func analytic(t *testing.T, id string, inputs, expected any) analyticCase {
	t.Helper()
	text, err := os.ReadFile("testdata/analytic.json")
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Cases []analyticCase }
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	for _, c := range all.Cases {
		if c.ID != id {
			continue
		}
		if inputs != nil {
			if err := json.Unmarshal(c.Inputs, inputs); err != nil {
				t.Fatal(err)
			}
		}
		if err := json.Unmarshal(c.Expected, expected); err != nil {
			t.Fatal(err)
		}
		return c
	}
	t.Fatalf("no case %s", id)
	return analyticCase{}
}

// TestAllanNIST: the 1000-point series of NIST SP 1065 (deviations as public test suites quote them), a
// Lehmer generator; all seven digits must agree.
func TestAllanNIST(t *testing.T) {
	var want struct {
		Mean, SD string
		Tau      []int
		Dev      []string `json:"overlapping_adev"`
	}
	analytic(t, "allan-nist-sp1065-1000", nil, &want)
	v := make([]float64, 1000)
	n := uint64(1234567890)
	for i := range v {
		v[i] = float64(n) / 2147483647
		n = 16807 * n % 2147483647
	}
	m := MomentsOf(v)
	for _, c := range []struct {
		got  float64
		want string
	}{{m.Mean(), want.Mean}, {m.SD(), want.SD}} {
		if got := strconv.FormatFloat(c.got, 'e', 6, 64); got != c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
	if len(want.Tau) != 3 {
		t.Fatal("three averaging times wanted")
	}
	for k, tau := range want.Tau {
		dev, err := AllanDeviation(v, tau)
		if got := strconv.FormatFloat(dev, 'e', 6, 64); err != nil || got != want.Dev[k] {
			t.Errorf("at %d: %s, want %s (%v)", tau, got, want.Dev[k], err)
		}
	}
}

// TestAllanNinePoints: the 9-point series of NIST SP 1065.
func TestAllanNinePoints(t *testing.T) {
	var want struct {
		Tau []int
		Dev []float64 `json:"overlapping_adev"`
	}
	c := analytic(t, "allan-9-point", nil, &want)
	for k, tau := range want.Tau {
		dev, err := AllanDeviation(c.Data, tau)
		if err != nil || math.Abs(dev-want.Dev[k]) > 0.5e-6*want.Dev[k] {
			t.Errorf("at %d: %.7g, want %.7g (%v)", tau, dev, want.Dev[k], err)
		}
	}
	if _, err := AllanDeviation(c.Data, 5); err == nil {
		t.Error("averages of 5 of 9 samples")
	}
}

// TestAllanClosedForms: a constant, a drift (D·m/√2), an alternation (√2·a, then 0); own derivation.
func TestAllanClosedForms(t *testing.T) {
	var flat, drift, alternate [400]float64
	for i := range flat {
		flat[i], drift[i], alternate[i] = 7, 0.25*float64(i), 3
		if i%2 == 1 {
			alternate[i] = -3
		}
	}
	for _, c := range []struct {
		v    []float64
		m    int
		want float64
	}{{flat[:], 5, 0}, {drift[:], 1, 0.25 / math.Sqrt2}, {drift[:], 40, 10 / math.Sqrt2}, {alternate[:], 1, 3 * math.Sqrt2}, {alternate[:], 2, 0}} {
		if dev, err := AllanDeviation(c.v, c.m); err != nil || math.Abs(dev-c.want) > 1e-12 {
			t.Errorf("at %d: %g, want %g (%v)", c.m, dev, c.want, err)
		}
	}
}

// TestAR1Inflation: the exact variance of the mean of a first-order autoregression.
func TestAR1Inflation(t *testing.T) {
	var in struct {
		N   int
		Phi float64
	}
	var want struct {
		Inflation float64
		Neff      float64 `json:"n_eff"`
	}
	analytic(t, "autocorrelated-mean", &in, &want)
	if f := AR1Inflation(in.N, in.Phi); math.Abs(f-want.Inflation) > 1e-8 || math.Abs(float64(in.N)/f-want.Neff) > 1e-7 {
		t.Errorf("%v, want %v", f, want.Inflation)
	}
}
