package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"railtally/internal/quantity"
)

// TestJoinOfSines: two logs of different rates whose clocks differ by a known offset, over whole periods. The mean of
// the product has v·i·cos(φ)/2 beyond the product of the means, and cos(φ+ωδ) in place of cos(φ) where the offset is
// wrong by δ. Of a normal δ with ωu = s the root mean square change of cos is √(3/2 − 2e^(−s²/2) + e^(−2s²)/2) at φ = 0 and
// √((1−e^(−2s²))/2) at φ = 90°, by the normal distribution's characteristic function.
func TestJoinOfSines(t *testing.T) {
	const v0, i0, vr, ir, omega, behind = 1.1, 5.0, -0.03, 2.0, 2 * math.Pi * 0.5, 3.7
	for _, phi := range []float64{0, math.Pi / 2} {
		v, i := make([]float64, 20001), make([]float64, 25001)
		for k := range v {
			v[k] = v0 + vr*math.Sin(omega*float64(k)*0.002)
		}
		for k := range i { // this clock shows 0 when the other shows 3.7 s
			i[k] = i0 + ir*math.Sin(omega*(float64(k)*0.0014+behind)+phi)
		}
		for _, s := range []float64{0.05, 0.5} {
			al, err := ByOffset(behind, s/omega)
			if err != nil {
				t.Fatal(err)
			}
			j, err := al.Join(volts(v, 0.002), amperes(i, 0.0014), 6, 26)
			if err != nil {
				t.Fatal(err)
			}
			top := vr * ir / 2
			want := math.Sqrt(1.5 - 2*math.Exp(-s*s/2) + math.Exp(-2*s*s)/2)
			if phi > 0 {
				want = math.Sqrt((1 - math.Exp(-2*s*s)) / 2)
			}
			want *= math.Abs(top)
			if math.Abs(j.Together-top*math.Cos(phi)) > 1e-4*math.Abs(top)+1e-6 || math.Abs(j.Power.Mean()-j.OfMeans-j.Together) > 1e-12 || j.Unit != quantity.Watt {
				t.Errorf("φ %g: %g beyond the product of the means, want %g", phi, j.Together, top*math.Cos(phi))
			}
			if math.Abs(j.UClock/want-1) > 0.05 && math.Abs(j.UClock-want) > 1e-4*math.Abs(top) {
				t.Errorf("φ %g, ωu %g: the clocks add %g, want %g", phi, s, j.UClock, want)
			}
			if math.Abs(j.UClockShare*j.OfMeans/j.UClock-1) > 0.02 {
				t.Errorf("φ %g, ωu %g: as a part they add %g, absolutely %g", phi, s, j.UClockShare*j.OfMeans, j.UClock)
			}
		}
	}
}

// TestJoinCovers: a load of known variance logged by two instruments with noise, rates and clocks of their own; the
// offset is found by cross-correlation. The interval of what the mean of v·i has beyond the product of the means must
// hold −R·var(i), and the mean of v·i its expectation.
func TestJoinCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 1))
	const runs, phi, sd, i0, v0, ohms = 24, 0.995, 1.0, 5.0, 1.1, 0.02
	inside, power, shifts := 0, 0, 0
	for range runs {
		load := ar1(rng, 200000, phi) // each ms; remembers 0.2 s
		behind := float64(5+rng.IntN(40)) + rng.Float64()
		v, i := make([]float64, 12000), make([]float64, 17200)
		at := func(t float64) float64 { return i0 + sd*load[int(t*1000+0.5)] }
		for k := range v {
			v[k] = v0 - ohms*at(30+float64(k)*0.010) + 0.002*rng.NormFloat64()
		}
		for k := range i {
			i[k] = at(30+behind-25+float64(k)*0.007) + 0.05*rng.NormFloat64()
		}
		a, b := volts(v, 0.010), amperes(i, 0.007)
		al, err := ByCorrelation(a, b, CorrelateOptions{MaxLag: 30})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(al.Offset-(behind-25)) < 2*al.U {
			shifts++
		}
		j, err := al.Join(a, b, 0, 120)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(j.Together+ohms*sd*sd) < 2*j.UTogether() {
			inside++
		}
		if math.Abs(j.Power.Mean()-((v0-ohms*i0)*i0-ohms*sd*sd)) < 2*j.UPower() {
			power++
		}
	}
	t.Logf("of %d: offset %d, beyond the means %d, power %d", runs, shifts, inside, power)
	if inside < runs*84/100 || power < runs*84/100 || shifts < runs*93/100 {
		t.Errorf("of %d intervals %d hold the offset, %d what is beyond the means, %d the power", runs, shifts, inside, power)
	}
}

func TestJoinRefuses(t *testing.T) {
	a, b := volts([]float64{1, 2, 3, 4}, 1), amperes([]float64{1, 2, math.Inf(1), 4}, 1)
	al := Alignment{}
	if _, err := al.Join(a, b, 0, 3); err == nil {
		t.Error("an overload was averaged")
	}
	if _, err := al.Join(a, b, 3, 0); err == nil {
		t.Error("a window that ends before it begins")
	}
	if _, err := (Alignment{Offset: 100}).Join(a, b, 0, 3); err == nil {
		t.Error("no common time")
	}
	if got := a.Nearest([]float64{-9, -1, 0.4, 0.6, 9}, 0); got[0] == got[0] || got[1] != 1 || got[2] != 1 || got[3] != 2 || got[4] == got[4] {
		t.Errorf("nearest: %v", got)
	}
}

// TestRunApart: a clock that loses two thousandths is told from one that keeps time.
func TestRunApart(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 1))
	load := ar1(rng, 30000, 0.98) // each 10 ms
	for _, rate := range []float64{0, 2e-3} {
		a, b := make([]float64, 12000), make([]float64, 12000)
		for k := range a {
			a[k] = load[k+5000]
			b[k] = load[5000+int(float64(k)*(1+rate)+0.5)] + 0.05*rng.NormFloat64()
		}
		x, y := even(a, 0.01), even(b, 0.01)
		al, err := ByCorrelation(x, y, CorrelateOptions{MaxLag: 5})
		if err != nil {
			t.Fatal(err)
		}
		got, u, ok := al.RunApart(x, y)
		// Times of a are those of b times 1 + rate.
		if !ok || math.Abs(got-rate) > 4*u+1e-4 || u > 5e-4 || (rate == 0) != (math.Abs(got) < 3*u+1e-4) {
			t.Errorf("%g: found %g ± %g (%v)", rate, got, u, ok)
		}
	}
}
