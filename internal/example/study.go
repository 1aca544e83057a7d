package example

import (
	_ "embed"
	"math/rand/v2"
	"strings"
)

//go:embed plan.yaml
var plan string

// Seed is the seed of the bench whose readings are the worked example.
const Seed = 20260353

// Bench is one virtual bench: the study it wrote down, and the truth.
type Bench struct {
	// Text is the study's text form.
	Text []byte
	e    *errors
}

// New lets the virtual bench of one seed take all sittings. The same seed
// gives the same text.
func New(seed uint64) *Bench {
	e := drawErrors(rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15)))
	var b strings.Builder
	b.WriteString(plan)
	b.WriteString("\nsittings:\n")
	for _, s := range sittings {
		b.WriteString(e.take(s))
	}
	return &Bench{Text: []byte(b.String()), e: e}
}

// True is the power in watts that the chip on a board really draws in a state:
// through one rail, or altogether when rail is "". Unknown names give 0.
func (b *Bench) True(board, state, rail string) float64 { return b.e.power(board, state, rail) }

// TrueRise is how far a point, case or sink, really stands over the room in
// kelvins when its chip draws a power in W; for other names it is 0.
func (b *Bench) TrueRise(point string, power float64) float64 { return riseOf(point, power) }

// Boards names the example's boards, and States its states, in order.
func Boards() []string {
	out := make([]string, len(boards))
	for i, b := range boards {
		out[i] = b.name
	}
	return out
}

// States names the example's states in order.
func States() []string {
	out := make([]string, len(states))
	for i, s := range states {
		out[i] = s.name
	}
	return out
}
