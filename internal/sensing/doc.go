// Package sensing turns what was read into uncertain currents and voltages.
//
// It holds the measurement model, and only that. One Bench belongs to one
// gum.Graph; it hands out the inputs of the model, one for each physical cause,
// and gives the same input to every reading that shares the cause. That is the
// whole treatment of correlation: nothing is ever told to be correlated.
//
//	input                          shared by all readings with the same
//	s  place inside a spec line    instrument and range
//	c  correction factor           calibration
//	R  resistance of a shunt       shunt
//	E  thermal EMF                 tap and sitting
//	z  zero                        zero reading (and the range it was read on)
//	p  position in the jaw         mounting: rail, tap and sitting
//	q  resolution, d zero drift    nothing
//	y  repeats or band             nothing
//
// # One spec line, one unknown
//
// An accuracy line such as ±(0.5 % of reading + 2 digits) is one limit on the
// error of a reading: its parts add linearly, and so does what a temperature
// coefficient adds outside its window. The model therefore knows one number s
// for each instrument and range, somewhere in [−1, 1], that says how much of
// the line the instrument uses and in which direction. Gain and offset errors
// follow from it:
//
//	gM = s (p + ΔT tp)        oM = s (a + ΔT ta)
//
// with p the part in proportion to the reading, a the constant part (digits,
// range and fixed parts), ΔT the kelvins by which the room is outside the
// window. One reading then has the standard uncertainty (p|y| + a)/√3 that the
// trade assigns to a limit (JCGM 100 4.3.7); a difference of two readings on
// one range loses the constant part and keeps only p of the difference.
//
// # Clamp
//
//	I = { S c (1 + gC) [ Y(y) − Y(z) − d ] } / N · (1 + p)
//	Y(x) = c' x (1 + gM) + oM + q
//
// S amperes per volt, N turns, c and c' correction factors of clamp and meter
// (1 when not calibrated; a calibration replaces the proportional part of the
// spec line). Without a zero, the clamp's own offset oC = sC·a stays in; with
// one, it cancels, except for a part that the spec line says holds after
// zeroing. Shunts, sense resistors and windings have the same form with
// 1/R for S; a series meter reads I = Y(y) − Y(z) − d.
package sensing
