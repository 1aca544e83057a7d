// Package heat computes how warm a chip's heatsink and board become: natural
// and forced convection, radiation, conduction through fins and bases, and the
// balance of them.
//
// # The model
//
// Heat leaves the chip by two paths side by side. Upwards it passes an
// interface layer, spreads in the base of a heatsink, and leaves its surface
// to the air and, as radiation, to the walls of the room. Downwards it spreads
// in the copper of the board and leaves the board's faces in the same two
// ways. A [Path] is that ladder; [Path.At] finds the temperatures at its rungs
// for a power.
//
// Each surface has a heat-transfer coefficient from a published correlation
// for the mean of many careful experiments on that shape. They scatter by
// 10 to 15 %, and a real sink stands in air that is never quite still, so a
// sink computed from its drawing alone is good to ±20 % of its rise at best
// (common practice, no source). Path.Factor is the one number that a
// measurement can set: the heat leaving the sink, against what the
// correlations say. [Path.Calibrate] finds it.
//
// # Units and ranges
//
// Temperatures are in °C, everything else in SI without prefixes. Every
// correlation states its range; [Path.Doubts] says in words which ranges a
// result leaves. What cannot be at all (fins that overlap, an emissivity of 2)
// is refused by Check with what would be accepted.
//
// Nothing here knows about uncertainty: callers differentiate.
package heat
