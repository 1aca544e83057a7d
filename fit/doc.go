// Package fit estimates quantities from repeated and related observations by
// least squares, and says how well it knows them.
//
// # The model
//
// Every function here answers the same question. There are n observations y,
// and a model that predicts them from p unknown parameters, p < n. The
// parameters chosen are those that make the weighted sum of squared residuals
// smallest. What is left over, the n−p degrees of freedom (DOF), is the only
// information there is about whether the model and the stated uncertainties
// were right, so it is always reported and never used silently.
//
//   - [Summarize] is the model with one parameter: the mean.
//   - [Linear] fits y = X·b for a design matrix X the caller writes down.
//   - [Polynomial] writes the design matrix for a line, parabola and so on.
//   - [OneWay] asks whether groups of observations share one mean (analysis of
//     variance), as JCGM 100:2008 H.5 does for readings taken on several days.
//   - [Nonlinear] fits any function of the parameters (Levenberg–Marquardt).
//   - [Settling] fits y = y∞ + A·exp(−t/τ) and returns the settled value y∞,
//     or refuses when the record does not determine it.
//
// # What the observations' uncertainties mean
//
// Without stated uncertainties all observations are taken as equally good and
// independent, and the residual standard deviation s = √(RSS/DOF) supplies the
// scale of the covariance matrix of the parameters. With stated variances or a
// full covariance matrix the caller must say what they are (see [Basis]):
// relative weights, again scaled by s², or absolute uncertainties, which are
// believed as they stand and against which the residuals are tested.
//
// # How the numbers are kept
//
// Sums and orthogonal (Householder) factorizations are carried in
// double-double arithmetic, about 31 significant digits, so the result is
// that of the data as given: what is lost is what rounding the inputs to
// float64 had already lost. Condition numbers are reported so that this can be
// judged. A design whose columns depend on each other is an error that names
// the columns ([RankError]), never an answer; a near-singular covariance
// matrix is refused with its condition number ([CovarianceError]).
//
// Diagnostics flag and never delete: an observation that stands out, residuals
// that come in runs, a chi-square that is too large all become entries of
// Warnings beside a result computed from everything that was given.
//
// Inputs are never modified. No function keeps state or uses random numbers.
package fit
