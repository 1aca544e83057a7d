// Package gum computes with uncertain quantities after the Guide to the
// Expression of Uncertainty in Measurement (JCGM 100:2008) and its Supplement
// on Monte Carlo evaluation (JCGM 101:2008).
//
// # The model
//
// A measurement model is a [Graph]. It is recorded by computing with it: each
// [Input] adds an uncertain quantity with its distribution, each operation
// adds a node, and a [Value] is a handle on one node. The estimate of a value
// is known as soon as it is recorded.
//
//	g := gum.New()
//	v := g.Input(gum.Input{Name: "V", Dist: gum.Normal{Mean: 12, U: 0.05}})
//	i := g.Input(gum.Input{Name: "I", Dist: gum.Normal{Mean: 2, U: 0.03}})
//	p := v.Mul(i)
//	r, err := g.Result(p) // r.Estimate, r.U, r.DOF, r.Expanded(0.95)
//
// # Correlation
//
// Two results are correlated when they share an input, and nothing has to be
// said about it: use the same Value twice. [Graph.Cov] and [Graph.Corr] report
// what follows. Only where quantities were observed together, or come out of
// one fit, is a covariance matrix stated, with [Graph.Joint].
//
// # Two evaluations of one graph
//
// [Graph.Result] applies the law of propagation of uncertainty: sensitivities
// by one reverse sweep, variance and covariance from the sparse gradient,
// effective degrees of freedom by Welch and Satterthwaite, and [Graph.Budget]
// says what contributes how much. It is first order: what it cannot see, such
// as the square of a quantity near zero, it mentions in [Result.Warnings].
//
// [Graph.MonteCarlo] propagates the distributions themselves, and [Compare]
// says whether the first evaluation is good enough (JCGM 101 clause 8). The
// same seed gives the same trials on any number of workers.
//
// # Faults
//
// Recording never fails: an invalid input or constant is kept as the graph's
// fault, returned by [Graph.Err] and by every evaluation. An operation outside
// its domain (the logarithm of a negative estimate) is an error of each result
// that depends on it, and leaves other results alone. Mixing values of
// different graphs, or using the zero Value, is a mistake in the program and
// panics.
//
// A graph must not be recorded into by several goroutines at once, nor while
// it is being evaluated. Evaluations may run at the same time as one another.
package gum
