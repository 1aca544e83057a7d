// Package example is the worked example: an invented bench with two invented
// boards, whose true powers are known because they are written here.
//
// Two generations of a backplane bridge chip, on the boards Marten and Otter,
// are compared over six states. The study's text form is made of a part that a
// person wrote (plan.yaml) and of sittings that the virtual bench of this
// package took: it draws the errors of clamps, meters, shunt, zeros and
// mountings, senses the true currents and voltages with them, and writes down
// what the displays showed, rounded as they round.
//
// The virtual bench computes forwards, from the truth to the display, and
// shares no code with the measurement model that computes backwards. That is
// what makes it worth testing with: over many benches, intervals stated at 95 %
// must contain the truth 95 times in a hundred.
package example
