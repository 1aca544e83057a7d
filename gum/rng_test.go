package gum

import (
	"math"
	"math/bits"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestXoshiro(t *testing.T) {
	// The state 1, 2, 3, 4 gives these numbers in the reference
	// implementation of xoshiro256++ (the first four also by hand: rotl(1+4,23)+1
	// = 41943041).
	g := rng{1, 2, 3, 4}
	for k, want := range []uint64{41943041, 58720359, 3588806011781223, 3591011842654386} {
		if got := g.next(); got != want {
			t.Errorf("number %d is %d, want %d", k, got, want)
		}
	}
}

func TestStreamsDiffer(t *testing.T) {
	seen := map[rng]bool{}
	for seed := range uint64(8) {
		for purpose := range uint64(16) {
			for lane := range uint64(32) {
				seen[newRNG(seed, purpose, lane)] = true
				seen[newRNG(seed, purpose+groupStream, lane)] = true
			}
		}
	}
	if len(seen) != 8*16*32*2 {
		t.Errorf("%d different streams", len(seen))
	}
}

// chiSquareBelow reports whether Σ(o−e)²/e is plausible: not among the largest
// 1 in 1000.
func chiSquareBelow(t *testing.T, what string, observed []int, expected func(k int) float64) {
	t.Helper()
	x := 0.0
	for k, o := range observed {
		e := expected(k)
		x += (float64(o) - e) * (float64(o) - e) / e
	}
	if limit := (distuv.ChiSquared{K: float64(len(observed) - 1)}).Quantile(0.999); x > limit {
		t.Errorf("%s: chi-square %.1f exceeds %.1f for %d classes", what, x, limit, len(observed))
	}
}

func TestRandomBits(t *testing.T) {
	const n = 1 << 20
	g := newRNG(5, 6, 7)
	var high, low [256]int
	var ones [64]int
	equal, last := 0, uint64(0)
	for range n {
		u := g.next()
		high[u>>56]++
		low[u&255]++
		equal += bits.OnesCount64(u ^ last)
		last = u
		for b := range ones {
			ones[b] += int(u >> b & 1)
		}
	}
	flat := func(int) float64 { return n / 256.0 }
	chiSquareBelow(t, "high byte", high[:], flat)
	chiSquareBelow(t, "low byte", low[:], flat)
	for b, k := range ones {
		within(t, "ones", float64(k), n/2, 5*math.Sqrt(n)/2)
		_ = b
	}
	within(t, "bits that change", float64(equal), 32*n, 5*math.Sqrt(64*n)/2)
	// The first numbers of neighbouring lanes must not resemble each other.
	changed := 0
	for lane := range uint64(4096) {
		a, b := newRNG(1, 1, lane), newRNG(1, 1, lane+1)
		changed += bits.OnesCount64(a.next() ^ b.next())
	}
	within(t, "neighbouring lanes", float64(changed), 32*4096, 5*math.Sqrt(64*4096)/2)
}

func TestZigguratTables(t *testing.T) {
	// Marsaglia and Tsang (2000) give r = 3.442619855899 for 128 layers (also in
	// Go's math/rand, normal.go) and 3.6541528853610088 for 256.
	near(t, "r for 128", tailStart(math.Inf(1), 128), 3.442619855899, 1e-12)
	near(t, "r for 256", tailStart(math.Inf(1), 256), 3.6541528853610088, 1e-14)
	for _, nu := range []float64{1, 2, 3.5, 9, 100, 1e6, math.Inf(1)} {
		z := newZiggurat(nu)
		x := func(i int) float64 { return z.layer[i].w * (1 << 52) }
		area := z.r*density(nu, z.r) + tailArea(nu, z.r)
		for i := 1; i < layers; i++ {
			near(t, "layer area", x(i)*(z.f[i+1]-z.f[i]), area, 2e-10)
		}
		// All layers together hold half the area under the density.
		total := math.Sqrt(math.Pi / 2)
		if !math.IsInf(nu, 1) {
			a, _ := math.Lgamma((nu + 1) / 2)
			b, _ := math.Lgamma(nu / 2)
			total = math.Sqrt(nu*math.Pi) / 2 * math.Exp(b-a)
		}
		if sum := area * layers; sum < total || sum > total*1.01 {
			t.Errorf("nu %g: layers hold %g, the density %g", nu, sum, total)
		}
	}
}

// TestTails counts draws in classes of equal spacing in the far tail, where
// wedges and tail of the ziggurat are, against the distribution function.
func TestTails(t *testing.T) {
	for _, c := range []struct {
		nu  float64
		cdf func(float64) float64
	}{
		{math.Inf(1), distuv.UnitNormal.CDF},
		{9, distuv.StudentsT{Sigma: 1, Nu: 9}.CDF},
		{2, distuv.StudentsT{Sigma: 1, Nu: 2}.CDF},
		{300, distuv.StudentsT{Sigma: 1, Nu: 300}.CDF},
	} {
		const n = 1 << 22
		z, g := newZiggurat(c.nu), newRNG(11, 12, 13)
		edges := []float64{0, 0.001, 0.02, 0.1, 0.5, 1, 2, 3, z.r - 0.3, z.r - 0.05, z.r, z.r + 0.05, z.r + 0.3}
		observed, up := make([]int, len(edges)), 0
		d := make([]float64, 1024)
		for range n / len(d) {
			z.draw(foldSet, d, 0, 1, &g)
			for _, x := range d {
				if x > 0 {
					up++
				}
				k := len(edges) - 1
				for math.Abs(x) < edges[k] {
					k--
				}
				observed[k]++
			}
		}
		chiSquareBelow(t, "tail classes", observed, func(k int) float64 {
			p := 2 * c.cdf(-edges[k])
			if k+1 < len(edges) {
				p -= 2 * c.cdf(-edges[k+1])
			}
			return p * n
		})
		within(t, "positive draws", float64(up), n/2, 4*math.Sqrt(n)/2)
		if observed[len(observed)-1] < 20 {
			t.Errorf("only %d draws beyond the last edge", observed[len(observed)-1])
		}
	}
}

func TestInverseChi(t *testing.T) {
	for _, nu := range []float64{1, 4, 9, 2.5} {
		g := newRNG(1, 2, 3)
		d := make([]float64, 50_000)
		inverseChi(nu, d, newZiggurat(math.Inf(1)), &g)
		for i, w := range d {
			d[i] = nu / (w * w)
		}
		if k := kolmogorov(d, distuv.ChiSquared{K: nu}.CDF); k > 1.95 {
			t.Errorf("chi-square with %g degrees of freedom: Kolmogorov distance %.2f/√n", nu, k)
		}
	}
}
