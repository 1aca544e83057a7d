package trace

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"railtally/internal/quantity"
)

func volts(v []float64, step float64) *Series {
	s := even(v, step)
	s.Unit = quantity.Volt
	return s
}

func amperes(v []float64, step float64) *Series {
	s := even(v, step)
	s.Unit = quantity.Ampere
	return s
}

// TestMeanOfProduct: mean(VI) = mean(V)·mean(I) + cov, a voltage that droops under load.
func TestMeanOfProduct(t *testing.T) {
	var in struct{ V, I []float64 }
	var want struct {
		Mean    float64 `json:"mean_product"`
		OfMeans float64 `json:"product_of_means"`
		Cov     float64 `json:"cov_n"`
	}
	analytic(t, "mean-of-product", &in, &want)
	p, err := Multiply(volts(in.V, 1), amperes(in.I, 1))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.Power.Mean()-want.Mean) > 1e-14 || math.Abs(p.OfMeans-want.OfMeans) > 1e-14 || math.Abs(p.Covariance-want.Cov) > 1e-14 || p.Held || p.Pairs != 8 {
		t.Errorf("%+v, want %+v", p, want)
	}
}

// TestMeanOfProductOfSines: V0·I0 + v·i·cos(φ)/2 over whole periods.
func TestMeanOfProductOfSines(t *testing.T) {
	var in struct {
		V0, I0 float64
		Vr     float64 `json:"v"`
		Ir     float64 `json:"i"`
		Phi    float64 `json:"phi_rad"`
	}
	var want struct {
		Mean float64 `json:"mean_power"`
	}
	analytic(t, "mean-of-product-sine", &in, &want)
	const n = 1000
	v, i := make([]float64, n), make([]float64, n)
	for k := range v {
		x := 2 * math.Pi * 5 * float64(k) / n
		v[k], i[k] = in.V0+in.Vr*math.Sin(x), in.I0+in.Ir*math.Sin(x+in.Phi)
	}
	p, err := Multiply(volts(v, 1), amperes(i, 1))
	if err != nil || math.Abs(p.Power.Mean()-want.Mean) > 1e-9 {
		t.Errorf("%+v, want %v (%v)", p.Power.Mean(), want.Mean, err)
	}
}

// TestProductOfRates: channels of different rates are held, never paired by row.
func TestProductOfRates(t *testing.T) {
	slow := volts([]float64{1, 1, 2, 2, 2, 2}, 1)
	fast := amperes(make([]float64, 50), 0.1)
	for k := range fast.V {
		fast.V[k] = 3
	}
	fast.V[3] = math.NaN()
	fast.V[4] = math.Inf(1)
	p, err := Multiply(slow, fast)
	if err != nil || !p.Held || p.Pairs != 48 || p.Power.Missing != 1 || p.Power.Overloads() != 1 {
		t.Fatalf("%+v %v", p, err)
	}
	if want := (18*3.0 + 30*6) / 48; math.Abs(p.Power.Mean()-want) > 1e-12 {
		t.Errorf("%v, want %v", p.Power.Mean(), want)
	}
	if _, err := Multiply(fast, slow); err == nil {
		t.Error("a current for a voltage")
	}
	if _, err := Multiply(slow, fast.Shift(1000)); err == nil {
		t.Error("no common time")
	}
}

// TestGrid: time-weighted means, by hand.
func TestGrid(t *testing.T) {
	s, err := NewSeries("x", quantity.Volt, []float64{0, 1, 1.5, 3, 20, 21}, []float64{2, 4, 6, 8, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	g, err := s.Grid(0, 2, 5)
	if err != nil {
		t.Fatal(err)
	}
	// 0..2: 2 for 1 s, 4 for 0.5 s, 6 for 0.5 s; 2..4: 6 for 1 s, 8 for 1 s; then a gap begins 3 medians after 3 s.
	if math.Abs(g.V[0]-3.5) > 1e-12 || math.Abs(g.V[1]-7) > 1e-12 || !math.IsNaN(g.V[4]) {
		t.Errorf("%v", g.V)
	}
	if _, err := s.Grid(0, 0, 5); err == nil {
		t.Error("a step of nothing")
	}
}

// TestAlignments: the offset of two logs of one load pattern is recovered; over many made pairs the
// 95 % interval holds it in 93 % or more.
func TestAlignByCorrelation(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 1))
	inside, runs := 0, 60
	for range runs {
		offset := rng.Float64()*40 - 20
		pattern := func(at float64) float64 { // steps at 30, 52, 81 s, and a slow wave
			x := 0.2 * math.Sin(at/7)
			for _, e := range []float64{30, 52, 81} {
				x += 1 / (1 + math.Exp(-(at-e)/0.4))
			}
			return x
		}
		a, b := make([]float64, 1200), make([]float64, 1000)
		for i := range a {
			a[i] = pattern(float64(i)*0.1) + 0.05*rng.NormFloat64()
		}
		for i := range b { // the second log's clock is behind by offset, and reads another quantity
			b[i] = 5 - 0.3*pattern(float64(i)*0.1+offset) + 0.02*rng.NormFloat64()
		}
		al, err := ByCorrelation(even(a, 0.1), even(b, 0.1), CorrelateOptions{MaxLag: 40})
		if err != nil {
			t.Fatal(err)
		}
		if al.U > 0.2 {
			t.Errorf("uncertainty %g s", al.U)
		}
		if math.Abs(al.Offset-offset) <= 2*al.U {
			inside++
		}
	}
	if inside < runs*93/100 {
		t.Errorf("the offset is within 2 u in %d of %d", inside, runs)
	}
}

func TestAlignRefuses(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 1))
	refused := 0
	for range 50 {
		_, err := ByCorrelation(even(ar1(rng, 600, 0.9), 1), even(ar1(rng, 600, 0.9), 1), CorrelateOptions{})
		if errors.Is(err, errNoLag) {
			refused++
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if refused < 48 {
		t.Errorf("records without a common event are aligned in %d of 50", 50-refused)
	}
	if _, err := ByCorrelation(even(make([]float64, 100), 1), even(make([]float64, 100), 1), CorrelateOptions{}); err == nil {
		t.Error("two constants are aligned")
	}
	wave := make([]float64, 1000)
	for i := range wave {
		wave[i] = math.Sin(float64(i)/5) + 0.01*rng.NormFloat64()
	}
	al, err := ByCorrelation(even(wave, 1), even(wave, 1), CorrelateOptions{})
	if err != nil || len(al.Warnings) == 0 {
		t.Errorf("a periodic signal: %+v %v", al, err)
	}
}

func TestAlignByMark(t *testing.T) {
	a, err := ByMark(12, 7.5, 0.3, 0.4)
	if err != nil || a.Offset != 4.5 || math.Abs(a.U-0.5/math.Sqrt(12)) > 1e-15 {
		t.Errorf("%+v %v", a, err)
	}
	if s := even([]float64{1, 2}, 1).Shift(a.Offset); s.T[0] != 4.5 || s.T[1] != 5.5 {
		t.Errorf("%v", s.T)
	}
	if _, err := ByMark(math.NaN(), 0, 1, 1); err == nil {
		t.Error("no time")
	}
	if _, err := ByOffset(1, -1); err == nil {
		t.Error("negative uncertainty")
	}
}
