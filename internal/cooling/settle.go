package cooling

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"railtally/fit"
	"railtally/internal/study"
)

// Settling is what a series of temperature readings says of its end.
type Settling struct {
	N       int
	Minutes float64 // from the first to the last reading
	Last    float64 // fitted temperature at the last reading, °C

	Final float64 // settled temperature, °C
	U     float64 // its standard uncertainty, K
	DOF   float64

	Remaining float64 // Final − Last, K
	Seen      float64 // part of the change from the first reading that was seen
	Tau       float64 // time constant at the end, s; 0 where there was no change
	// Exponential is where a plain exponential would end: too hot, when fitted
	// early, as the air moves faster the warmer the sink becomes.
	Exponential float64
	TwoTerms    bool // a second, faster time constant was needed
	// Settled: what remains is below 2 % of the rise over the room.
	Settled  bool
	Warnings []string

	curve func(seconds, dst []float64)
}

// At is the fitted temperature in °C at seconds from the first reading, which
// ascend from 0.
func (s *Settling) At(seconds []float64) []float64 {
	out := make([]float64, len(seconds))
	s.curve(seconds, out)
	return out
}

// leastSeen is the part of the change that must have been seen.
const leastSeen = 0.5

// settledWithin is the part of the rise below which what remains no longer
// matters.
const settledWithin = 0.02

// TooEarlyError refuses to extrapolate.
type TooEarlyError struct {
	Seen  float64 // NaN where it cannot be said
	Cause error   // nil: too little was seen
}

func (e *TooEarlyError) Error() string {
	var u *fit.UnsettledError
	switch {
	case errors.As(e.Cause, &u) && u.Reason == fit.NoChange:
		return fmt.Sprintf("read on: in %.0f min no change stands out from the scatter, and a slow one could hide in it", u.Span/60)
	case errors.As(e.Cause, &u):
		return fmt.Sprintf("read on until it bends over: after %.0f min a steady drift would fit as well", u.Span/60)
	case e.Cause != nil:
		return "read on until it bends over: " + e.Cause.Error()
	}
	return fmt.Sprintf("read on: only about %.0f %% of the change was seen, and at least %.0f %% is needed to say where it ends", 100*e.Seen, 100*leastSeen)
}

// Unwrap gives the fit's own refusal.
func (e *TooEarlyError) Unwrap() error { return e.Cause }

// exponentBand is what is known of n in rise = a·P^n before anything was
// measured: 0.73 to 0.85 in still air (a heatsink maker's table has 0.8; own
// computations for dense fins 0.73 to 0.76), towards 1 as moving air takes
// over, whose coefficient does not depend on the rise.
func exponentBand(air study.AirMotion) (lo, hi float64) {
	switch air {
	case study.Draught:
		return 0.73, 1
	case study.Fan:
		return 0.85, 1
	}
	return 0.73, 0.85
}

// Settle finds where a series of at least five readings ends: seconds do not
// decrease, celsius are the readings, room is the temperature of the air.
//
// The curve is that of one heat capacity whose loss follows the power law,
//
//	C·dθ/dt = P·(1 − (θ/θ∞)^(1/n)),
//
// for n in the middle of its band; the ends of the band widen the uncertainty.
// Where a second time constant is clearly there (chip and board beside the
// sink), the sum of two exponentials is used, and the power law's correction
// is applied by half and counted as uncertainty.
//
// A [*TooEarlyError] tells that too little was seen.
func Settle(seconds, celsius []float64, room float64, air study.AirMotion) (*Settling, error) {
	if len(seconds) < 5 || len(celsius) != len(seconds) {
		return nil, &TooEarlyError{Seen: math.NaN(), Cause: fmt.Errorf("%d readings, 5 or more are needed", len(celsius))}
	}
	one, err := fit.Settling(seconds, celsius, fit.SettlingOptions{})
	s := &Settling{N: len(seconds), Minutes: (seconds[len(seconds)-1] - seconds[0]) / 60}
	var early *fit.UnsettledError
	switch {
	case errors.As(err, &early) && early.Reason == fit.NoChange:
		return s.level(seconds, celsius, room, err)
	case errors.As(err, &early) && early.Reason == fit.TooFast:
		return s.level(seconds[1:], celsius[1:], room, err)
	case errors.As(err, &early):
		return nil, &TooEarlyError{Seen: early.Seen, Cause: err}
	case err != nil:
		return nil, err
	}
	s.Exponential, s.Tau = one.Final, one.Terms[0].Tau
	s.Final, s.U, s.DOF, s.Last, s.Seen = one.Final, one.U, one.DOF, one.Last, one.Seen
	first := celsius[0]

	lo, hi := exponentBand(air)
	law := func(n float64) (*fit.NonlinearResult, error) { return fitLaw(seconds, celsius, room, n, one) }
	middle, errM := law((lo + hi) / 2)
	low, errL := law(lo)
	high, errH := law(hi)
	if errM != nil || errL != nil || errH != nil {
		return nil, &TooEarlyError{Seen: one.Seen, Cause: errors.Join(errM, errL, errH)}
	}
	band := (high.Coef[0] - low.Coef[0]) / 2 / math.Sqrt(3)
	s.Final, s.Tau = room+middle.Coef[0], middle.Coef[2]
	s.U, s.DOF = math.Hypot(middle.StdErr[0], band), float64(middle.DOF)
	s.Last = room + middle.Fitted[len(seconds)-1]
	s.curve = func(seconds, dst []float64) {
		approach(seconds, middle.Coef[0], middle.Coef[1], middle.Coef[2], 2/(lo+hi), dst)
		for i := range dst {
			dst[i] += room
		}
	}
	first = room + middle.Coef[1]
	if !patterned(middle.Residuals) {
		// One body describes it; a second is not looked for.
	} else if two, err := fit.Settling(seconds, celsius, fit.SettlingOptions{Terms: 2}); err == nil && better(two.Fit, middle) {
		shift := s.Final - s.Exponential
		s.TwoTerms, s.Tau, s.Last = true, two.Terms[0].Tau, two.Last
		s.Final = two.Final + shift/2
		s.U, s.DOF = math.Hypot(two.U, math.Hypot(band, math.Abs(shift)/2/math.Sqrt(3))), two.DOF
		first = celsius[0]
		// The curve is the exponentials' own as far as they were seen, and bends
		// towards the end that the power law's correction moves.
		s.curve = func(seconds, dst []float64) {
			for i, t := range seconds {
				dst[i] = two.Final
				for _, x := range two.Terms {
					dst[i] += x.Amplitude * math.Exp(-t/x.Tau)
				}
				dst[i] += shift / 2 * (1 - math.Exp(-t/s.Tau))
			}
		}
	}
	s.Remaining = s.Final - s.Last
	s.Seen = 1 - s.Remaining/(s.Final-first)
	if s.Seen < leastSeen {
		return nil, &TooEarlyError{Seen: s.Seen}
	}
	s.Judge(room)
	if s.Seen < 0.8 {
		s.Warnings = append(s.Warnings, fmt.Sprintf("%.0f %% of the change was seen: a slower part, such as the board's, may still follow", 100*s.Seen))
	}
	return s, nil
}

// patterned tells whether residuals follow one another: a correlation of
// neighbours beyond two of its standard deviations 1/√n.
func patterned(residuals []float64) bool {
	m, err := fit.Summarize(residuals)
	return err == nil && m.Lag1 > 2/math.Sqrt(float64(m.N))
}

// better tells whether two exponentials describe a series better than the power
// law by more than chance (F test, p < 0.001): a curve of the power law is no
// exponential either, and would pass for two.
func better(two, law *fit.NonlinearResult) bool {
	if two.RSS <= 0 {
		return law.RSS > 0
	}
	f := (law.RSS - two.RSS) / float64(law.DOF-two.DOF) / (two.RSS / float64(two.DOF))
	return f > 0 && distuv.F{D1: float64(law.DOF - two.DOF), D2: float64(two.DOF)}.Survival(f) < 0.001
}

// level is a series without a change that can be seen: the mean of its
// readings, as long as the drift that they could hide is small against the rise.
func (s *Settling) level(seconds, celsius []float64, room float64, cause error) (*Settling, error) {
	m, err := fit.Summarize(celsius)
	if err != nil {
		return nil, err
	}
	line, err := fit.Polynomial(seconds, celsius, 1, fit.PolynomialOptions{})
	if err != nil {
		return nil, err
	}
	k := student(float64(line.DOF)).Quantile(0.975)
	drift := (math.Abs(line.Coef[1]) + k*line.StdErr[1]) * (seconds[len(seconds)-1] - seconds[0])
	if drift > hiddenDrift*math.Abs(m.Mean-room) {
		return nil, &TooEarlyError{Seen: math.NaN(), Cause: cause}
	}
	s.Final, s.U, s.DOF = m.Mean, math.Hypot(m.UMean, drift/math.Sqrt(3)), float64(m.N-1)
	s.Last, s.Exponential, s.Seen = m.Mean, m.Mean, 1
	s.curve = func(_, dst []float64) {
		for i := range dst {
			dst[i] = m.Mean
		}
	}
	s.Judge(room)
	s.Warnings = append(s.Warnings, "no change was seen: settled, unless it is slower than the readings could show")
	return s, nil
}

// hiddenDrift is the part of the rise that readings which seem level may hide.
const hiddenDrift = 0.05

func (s *Settling) Judge(room float64) {
	s.Settled = math.Abs(s.Remaining) <= settledWithin*math.Abs(s.Final-room)
}

// fitLaw fits settled rise, first rise and time constant at the end.
func fitLaw(seconds, celsius []float64, room, n float64, one *fit.SettlingResult) (*fit.NonlinearResult, error) {
	rises := make([]float64, len(celsius))
	for i, c := range celsius {
		rises[i] = c - room
	}
	if !(rises[len(rises)-1] > 0) {
		return nil, errors.New("the last reading is no warmer than the room")
	}
	m := fit.Model{Eval: func(p, dst []float64) { approach(seconds, p[0], p[1], p[2], 1/n, dst) }}
	final := math.Max(one.Final-room, rises[len(rises)-1])
	start := []float64{final, math.Max(rises[0], 1e-3*final), one.Terms[0].Tau}
	return fit.Nonlinear(m, rises, start, fit.NonlinearOptions{
		Options: fit.Options{Names: []string{"settled rise", "first rise", "time constant"}}, Typical: []float64{final, final, start[2]}})
}

// approach writes the rise at each time: dθ/dt = (F^m − θ^m)/(τ·m·F^(m−1)),
// whose time constant near the end is τ, by Runge and Kutta's steps of a tenth
// of τ at most.
func approach(seconds []float64, final, first, tau, m float64, dst []float64) {
	if !(final > 0 && tau > 0 && first > -final) {
		for i := range dst {
			dst[i] = math.NaN()
		}
		return
	}
	slope := func(x float64) float64 { return (1 - math.Pow(math.Max(x, 0), m)) / m } // x in parts of final, time in tau
	x := first / final
	for i := range seconds {
		if i > 0 {
			span := (seconds[i] - seconds[i-1]) / tau
			steps := math.Min(math.Ceil(span/0.1), 2000)
			h := span / math.Max(steps, 1)
			for range int(steps) {
				k1 := slope(x)
				k2 := slope(x + h/2*k1)
				k3 := slope(x + h/2*k2)
				k4 := slope(x + h*k3)
				x += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
			}
		}
		dst[i] = x * final
	}
}
