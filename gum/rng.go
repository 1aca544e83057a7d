package gum

import "math/bits"

// rng is the generator xoshiro256++ 1.0 of D. Blackman and S. Vigna
// ("Scrambled linear pseudorandom number generators", ACM Transactions on
// Mathematical Software 47, 2021), with a period of 2²⁵⁶−1. Each stream is
// seeded on its own; that two of them overlap is as likely as a collision of
// random 256-bit numbers.
type rng struct{ s0, s1, s2, s3 uint64 }

// newRNG returns the stream of numbers for one purpose (an input, say) and one
// lane of trials. The three numbers are hashed into the state with the
// finaliser of SplitMix64 (G. Steele, D. Lea, C. Flood, OOPSLA 2014), as the
// authors of xoshiro advise.
func newRNG(seed, purpose, lane uint64) rng {
	h := mix(seed + golden)
	h = mix((h ^ purpose) + golden)
	h = mix((h ^ lane) + golden)
	var s [4]uint64
	for k := range s {
		h += golden
		s[k] = mix(h)
	}
	return rng{s[0], s[1], s[2], s[3]}
}

const golden = 0x9e3779b97f4a7c15

// mix is the output function of SplitMix64.
func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// step returns 64 random bits and the state that follows. Working on a copy,
// it lets a loop keep the state in registers.
func (g rng) step() (uint64, rng) {
	r := bits.RotateLeft64(g.s0+g.s3, 23) + g.s0
	t := g.s1 << 17
	g.s2 ^= g.s0
	g.s3 ^= g.s1
	g.s1 ^= g.s2
	g.s0 ^= g.s3
	g.s2 ^= t
	g.s3 = bits.RotateLeft64(g.s3, 45)
	return r, g
}

// next returns 64 random bits.
func (g *rng) next() uint64 {
	u, h := g.step()
	*g = h
	return u
}

// ulp53 is the spacing of uniform numbers with 53 random bits.
const ulp53 = 1.0 / (1 << 53)

// open returns a uniform number strictly between 0 and 1: (k+½)·2⁻⁵².
func (g *rng) open() float64 {
	return (float64(int64(g.next()>>12)) + 0.5) * (1.0 / (1 << 52))
}
