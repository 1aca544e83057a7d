package packed

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/trace"
)

func coders(tb testing.TB) (*Encoder, *Decoder) {
	tb.Helper()
	e, err := NewEncoder()
	if err != nil {
		tb.Fatal(err)
	}
	d, err := NewDecoder()
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(d.Close)
	return e, d
}

// same compares bits, so that NaN and the sign of zero count.
func same(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			return false
		}
	}
	return true
}

func parsed(tb testing.TB, s string) float64 {
	tb.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return x
}

// made returns runs of the kinds that meters write, and some that none does.
func made(tb testing.TB, n int) map[string][]float64 {
	rng := rand.New(rand.NewPCG(7, 9))
	out := map[string][]float64{}
	add := func(name string, f func(i int) float64) {
		v := make([]float64, n)
		for i := range v {
			v[i] = f(i)
		}
		out[name] = v
	}
	add("times of 1 kHz", func(i int) float64 { return parsed(tb, strconv.FormatFloat(float64(i)/1000, 'f', 3, 64)) })
	add("five digits", func(int) float64 {
		return parsed(tb, strconv.FormatFloat(0.9+0.002*rng.NormFloat64(), 'f', 5, 64))
	})
	add("prefixed", func(int) float64 {
		return parsed(tb, strconv.FormatFloat(412+rng.NormFloat64(), 'f', 2, 64)+"e-6")
	})
	add("with gaps", func(i int) float64 {
		switch {
		case i%97 == 3:
			return math.NaN()
		case i%511 == 7:
			return math.Inf(1)
		case i%512 == 9:
			return math.Copysign(0, -1)
		}
		return float64(rng.IntN(1000)) / 100
	})
	add("constant", func(int) float64 { return 3.3 })
	add("binary", func(int) float64 { return rng.NormFloat64() })
	add("all missing", func(int) float64 { return math.NaN() })
	add("huge", func(i int) float64 { return float64(i) * 1e300 })
	add("any bits", func(int) float64 { return math.Float64frombits(rng.Uint64()) })
	add("ends of the range", func(i int) float64 { return float64((i%2)*2-1) * (maxWhole - 1) })
	return out
}

func TestBlobsGiveBackEveryBit(t *testing.T) {
	e, d := coders(t)
	for _, n := range []int{1, 2, 127, 128, 129, 1000, ChunkSize} {
		for name, v := range made(t, n) {
			blob, err := e.Encode(nil, v)
			if err != nil {
				t.Fatal(err)
			}
			got, err := d.Decode([]float64{1}, blob)
			if err != nil || got[0] != 1 || !same(got[1:], v) {
				t.Errorf("%s, %d samples: not the same again (%v)", name, n, err)
			}
		}
	}
}

// A chunk of what meters write must cost what its digits tell: five-digit noise of a deviation of 200
// last digits spans about 1,700 of them, 11 bits; regular times cost nothing to speak of.
func TestDecimalsAreSmall(t *testing.T) {
	e, _ := coders(t)
	all := made(t, ChunkSize)
	for name, most := range map[string]float64{"times of 1 kHz": 0.6, "five digits": 12, "constant": 0.4, "all missing": 0.1, "prefixed": 11} {
		blob, err := e.Encode(nil, all[name])
		if err != nil {
			t.Fatal(err)
		}
		if bits := float64(len(blob)*8) / ChunkSize; bits > most {
			t.Errorf("%s: %.2f bits a sample, expected at most %g", name, bits, most)
		}
	}
}

func TestRandomRunsRoundTrip(t *testing.T) {
	e, d := coders(t)
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.OneOf(rapid.Float64(), rapid.Map(rapid.IntRange(-1e9, 1e9), func(i int) float64 { return float64(i) / 1e4 })), 1, 600).Draw(t, "v")
		blob, err := e.Encode(nil, v)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := d.Decode(nil, blob); err != nil || !same(got, v) {
			t.Fatalf("not the same again: %v", err)
		}
	})
}

func TestEveryFlippedBitIsNoticed(t *testing.T) {
	e, d := coders(t)
	for _, name := range []string{"with gaps", "binary"} {
		blob, err := e.Encode(nil, made(t, 300)[name])
		if err != nil {
			t.Fatal(err)
		}
		for i := range blob {
			blob[i] ^= 1 << (i % 8)
			if _, err := d.Decode(nil, blob); err == nil {
				t.Fatalf("%s: byte %d changed unnoticed", name, i)
			}
			blob[i] ^= 1 << (i % 8)
			if _, err := d.Decode(nil, blob[:i]); err == nil {
				t.Fatalf("%s: cut at %d unnoticed", name, i)
			}
		}
	}
}

func TestMomentsRoundTrip(t *testing.T) {
	m := trace.MomentsOf([]float64{1.5, math.NaN(), 2.25, math.Inf(1), -7, math.Inf(-1), 1e-9})
	got, err := ReadMoments(AppendMoments(nil, m))
	if err != nil || got != m {
		t.Errorf("got %+v, %v; want %+v", got, err, m)
	}
	if _, err := ReadMoments(AppendMoments(nil, m)[:20]); err == nil {
		t.Error("cut statistics were read")
	}
}

// Buckets of any level must agree with the statistics of the samples they cover.
func TestOutlinesAgreeWithSamples(t *testing.T) {
	e, d := coders(t)
	for name, v := range made(t, 3*BucketSize*Fan+1000) {
		if name == "any bits" || name == "huge" {
			continue // sums overflow
		}
		level, all := Summarise(nil, v)
		if plain := trace.MomentsOf(v); all.N != plain.N || all.Missing != plain.Missing || all.N > 1 && math.Abs(all.SD()-plain.SD()) > 1e-14*plain.SD() {
			t.Errorf("%s: statistics %+v, want %+v", name, all, plain)
		}
		for l := range 3 {
			for i, b := range level {
				from := int64(i) * Span(l)
				m := trace.MomentsOf(v[from:min(from+Span(l), int64(len(v)))])
				if b.N != m.N || b.Odd != m.Missing+m.Over+m.Under || b.N > 0 && (b.Min != m.Min || b.Max != m.Max ||
					math.Abs(b.Mean-m.Mean()) > 1e-12*max(math.Abs(m.Min), math.Abs(m.Max))) {
					t.Fatalf("%s, level %d, bucket %d: %+v, samples say %+v", name, l, i, b, m)
				}
			}
			for at := 0; at < len(level); at += RunSize {
				run := level[at:min(at+RunSize, len(level))]
				blob, err := e.EncodeRun(nil, run)
				if err != nil {
					t.Fatal(err)
				}
				got, err := d.DecodeRun(nil, blob)
				if err != nil || len(got) != len(run) || got[len(run)-1] != run[len(run)-1] {
					t.Fatalf("%s, level %d: run changed: %v", name, l, err)
				}
			}
			level = Raise(nil, level)
		}
	}
}

func TestWrongSizesAreRefused(t *testing.T) {
	e, _ := coders(t)
	if _, err := e.Encode(nil, nil); err == nil {
		t.Error("an empty chunk was taken")
	}
	if _, err := e.Encode(nil, make([]float64, ChunkSize+1)); err == nil {
		t.Error("a chunk too long was taken")
	}
	if _, err := e.EncodeRun(nil, make([]Bucket, RunSize+1)); err == nil {
		t.Error("a run too long was taken")
	}
}
