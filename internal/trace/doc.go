// Package trace handles logged time series: their statistics, the stretches in which they are
// steady, and readings taken from such stretches. Package logfile below it reads the files.
//
// # The model
//
// A Series is one channel: values at times that never decrease. Samples that are missing (NaN) or
// beyond the meter's range (±Inf) keep their place and are counted, never averaged. Its Moments
// merge without loss, so a Pyramid of them answers for any window and any width of plot.
//
// # What a mean is worth
//
// Samples of a meter are not independent: its filter, mains hum and slow drift tie neighbours
// together, and σ/√n claims far too much. A Window's uncertainty therefore is
//
//	u(mean) = s √(F/n),  F = 1 + 2 Σ ρ(k),  n_eff = n/F
//
// with the sum of autocorrelations cut off by a rule of its own (Correlation). Its degrees of
// freedom say how well F itself is known. Batch means check the result by another way, and the
// overlapping Allan deviation shows at which averaging time drift takes over.
//
// # What steady means
//
// Segment cuts a record where a straight line no longer describes it (penalised least squares,
// optimal partitioning). Stretches names what lies between the cuts (steady, drifting, settling,
// brief) by a Criterion that the person chooses, and proposes windows. All of it is proposal:
// edges may be moved, and every verdict carries the figures it rests on.
package trace
