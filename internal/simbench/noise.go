package simbench

import (
	"math"
	"math/rand/v2"
	"time"
)

// noise is a source of random numbers by name and time, the same whenever it is
// asked again.
type noise struct{ seed uint64 }

// of returns a source for one thing.
func (n noise) of(name string) noise {
	h := n.seed ^ 0x9e3779b97f4a7c15
	for _, c := range []byte(name) {
		h = mix(h ^ uint64(c))
	}
	return noise{h}
}

// mix is the finaliser of SplitMix64 (Steele, Lea and Flood 2014, from memory).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// normal is a standard normal number for the k-th interval.
func (n noise) normal(k int64) float64 {
	r := rand.New(rand.NewPCG(n.seed, mix(uint64(k))))
	return r.NormFloat64()
}

// phase is an angle for the k-th part.
func (n noise) phase(k int64) float64 {
	return 2 * math.Pi * rand.New(rand.NewPCG(n.seed, mix(uint64(k)))).Float64()
}

// white is the noise of one reading, independent of every other; unit variance.
func (n noise) white(at time.Duration) float64 { return n.normal(int64(at)) }

// The octaves of 1/f noise: 0.1 s to about 100 s.
const (
	octaves  = 10
	shortest = 100 * time.Millisecond
)

// pink is noise whose power goes as 1/f between 0.01 and 10 Hz: a sum of values
// held for 0.1 s, 0.2 s, 0.4 s and so on, unit variance in each octave (Voss's
// method as Gardner gives it, Scientific American, April 1978; from memory).
func (n noise) pink(at time.Duration) float64 {
	sum := 0.0
	hold := shortest
	for k := range int64(octaves) {
		sum += noise{n.seed + uint64(k)}.normal(int64(at / hold))
		hold *= 2
	}
	return sum
}

// wander is the slow course of a zero: it begins at 0, and over the twenty-two
// minutes between two zeros it changes by about 1, one standard deviation. Three
// sines of 6 h, 3 h and 100 min with random phases; each of amplitude a changes
// over Δ by a√2·|sin(πΔ/T)|, one standard deviation, and a makes the three 1
// together.
func (n noise) wander(at time.Duration) float64 {
	const a = 0.924
	sum := 0.0
	for k, period := range []time.Duration{6 * time.Hour, 3 * time.Hour, 100 * time.Minute} {
		p := n.phase(int64(k))
		sum += a * (math.Sin(2*math.Pi*at.Seconds()/period.Seconds()+p) - math.Sin(p))
	}
	return sum
}

// ripple is what is left of a sine of unit amplitude after a meter integrated it
// for so long: nothing after whole cycles.
func ripple(hertz float64, at, aperture time.Duration) float64 {
	w := 2 * math.Pi * hertz
	t0, t1 := at.Seconds(), (at + aperture).Seconds()
	return (math.Cos(w*t0) - math.Cos(w*t1)) / (w * (t1 - t0))
}
