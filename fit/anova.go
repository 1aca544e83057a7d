package fit

import (
	"fmt"
	"math"
)

// A Group summarizes the observations of one group.
type Group struct {
	N        int
	Mean, SD float64 // SD with N−1; ignored when N is 1
}

// An ANOVA is a one-way analysis of variance: observations y[i][j] = μ + B[i] +
// e[i][j], with group effects B of variance σB² and scatter e of variance σ².
type ANOVA struct {
	Groups, N int

	BetweenDOF, WithinDOF int
	BetweenSS, WithinSS   float64
	BetweenMS, WithinMS   float64
	F                     float64 // BetweenMS/WithinMS; NaN when both are zero
	P                     float64 // of an F at least as large were there no group effect
	R2                    float64 // BetweenSS/(BetweenSS+WithinSS); NaN when both are zero
	ResidualSD            float64 // √WithinMS, the pooled standard deviation within groups

	// N0 is the effective group size (N − Σn²/N)/(Groups−1); the common size
	// when all are equal.
	N0 float64
	// BetweenVariance estimates σB² by moments, (BetweenMS−WithinMS)/N0, and is
	// zero where that is negative; RawBetweenVariance is kept as it came out.
	BetweenVariance, RawBetweenVariance float64

	// Mean of all observations and its standard uncertainty when group effects
	// are not accepted: all N observations are one sample. DOF N−1.
	Mean, UPooled float64
	PooledDOF     int

	// MeanOfMeans weighs the groups equally; UBetween = s(group means)/√Groups
	// is its standard uncertainty when group effects are accepted, with DOF
	// Groups−1. It holds for unequal sizes too: E[s²(means)] is then σB² +
	// mean(σ²/n). With equal sizes both means are the same.
	MeanOfMeans, UBetween float64

	Warnings []string
}

// OneWay analyses groups of observations: two or more groups, each with at
// least one value, one of them with two. Formulas: JCGM 100:2008 H.5.2; S. R.
// Searle, G. Casella, C. E. McCulloch, Variance Components, 3.6 for N0.
func OneWay(groups [][]float64) (*ANOVA, error) {
	sums := make([]groupSum, len(groups))
	for i, g := range groups {
		if len(g) == 0 {
			return nil, fmt.Errorf("anova: group %d is empty", i)
		}
		if err := finite(fmt.Sprintf("group %d, value", i), g); err != nil {
			return nil, fmt.Errorf("anova: %w", err)
		}
		m := meanOf(g)
		sums[i] = groupSum{n: len(g), mean: m, ss: sumSqAbout(g, m)}
	}
	return oneWay(sums)
}

// OneWaySummaries analyses groups of which only size, mean and standard
// deviation are known, as published tables give them.
func OneWaySummaries(groups []Group) (*ANOVA, error) {
	sums := make([]groupSum, len(groups))
	for i, g := range groups {
		if g.N < 1 {
			return nil, fmt.Errorf("anova: group %d has size %d", i, g.N)
		}
		s := groupSum{n: g.N, mean: ddOf(g.Mean)}
		if g.N > 1 {
			if !(g.SD >= 0) {
				return nil, fmt.Errorf("anova: group %d has standard deviation %v", i, g.SD)
			}
			s.ss = twoProd(g.SD, g.SD).mul(ddOf(float64(g.N - 1)))
		}
		if err := finite(fmt.Sprintf("group %d, value", i), []float64{g.Mean, s.ss.hi}); err != nil {
			return nil, fmt.Errorf("anova: %w", err)
		}
		sums[i] = s
	}
	return oneWay(sums)
}

// groupSum is one group reduced to what the sums of squares need.
type groupSum struct {
	n        int
	mean, ss dd
}

func oneWay(groups []groupSum) (*ANOVA, error) {
	a := &ANOVA{Groups: len(groups)}
	if a.Groups < 2 {
		return nil, fmt.Errorf("anova: %d groups, need 2 or more", a.Groups)
	}
	var total, means, within dd
	var squares float64
	for _, g := range groups {
		a.N += g.n
		n := float64(g.n)
		squares += n * n
		total = total.add(g.mean.mul(ddOf(n)))
		means = means.add(g.mean)
		within = within.add(g.ss)
	}
	a.BetweenDOF, a.WithinDOF = a.Groups-1, a.N-a.Groups
	if a.WithinDOF < 1 {
		return nil, fmt.Errorf("anova: %d observations in %d groups, need a group of 2 or more", a.N, a.Groups)
	}
	n, k := ddOf(float64(a.N)), ddOf(float64(a.Groups))
	mean, meanOfMeans := total.div(n), means.div(k)
	var between, spread dd
	for _, g := range groups {
		d, e := g.mean.sub(mean), g.mean.sub(meanOfMeans)
		between = between.add(d.mul(d).mul(ddOf(float64(g.n))))
		spread = spread.add(e.mul(e))
	}
	msb := between.div(ddOf(float64(a.BetweenDOF)))
	msw := within.div(ddOf(float64(a.WithinDOF)))
	a.BetweenSS, a.WithinSS = between.float(), within.float()
	a.BetweenMS, a.WithinMS = msb.float(), msw.float()
	a.F, a.P, a.R2 = math.NaN(), math.NaN(), math.NaN()
	if all := between.add(within); all.hi > 0 {
		a.R2 = between.div(all).float()
		a.F = math.Inf(1)
		if msw.hi > 0 {
			a.F = msb.div(msw).float()
		}
		a.P = fTail(a.F, float64(a.BetweenDOF), float64(a.WithinDOF))
	}
	a.ResidualSD = msw.sqrt().float()
	a.N0 = (float64(a.N) - squares/float64(a.N)) / float64(a.BetweenDOF)
	a.RawBetweenVariance = msb.sub(msw).float() / a.N0
	a.BetweenVariance = math.Max(0, a.RawBetweenVariance)

	one := ddOf(1)
	a.Mean, a.MeanOfMeans = mean.float(), meanOfMeans.float()
	a.PooledDOF = a.N - 1
	a.UPooled = between.add(within).div(n.mul(n.sub(one))).sqrt().float()
	a.UBetween = spread.div(k.mul(k.sub(one))).sqrt().float()
	a.caution(groups)
	return a, nil
}

// caution writes the warnings.
func (a *ANOVA) caution(groups []groupSum) {
	warn := func(format string, args ...any) { a.Warnings = append(a.Warnings, fmt.Sprintf(format, args...)) }
	if a.RawBetweenVariance < 0 {
		warn("between-group variance comes out negative (%.3g) and is taken as zero", a.RawBetweenVariance)
	}
	if a.P < flagLevel {
		warn("groups differ: F = %.3g, p = %.2g; the pooled uncertainty of the mean is too small", a.F, a.P)
	}
	for _, g := range groups {
		if g.n != groups[0].n {
			warn("group sizes differ: the mean of all observations (%.6g) is not the mean of group means (%.6g)", a.Mean, a.MeanOfMeans)
			return
		}
	}
}
