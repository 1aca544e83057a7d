// Package cooling answers what power is measured for: does the chip need its
// fan, would a small sink or the board alone do, and what happens in a warm
// case or at a higher power.
//
// # From the bench
//
// A temperature is read beside the power in each state. Less the room it is a
// rise, and in natural convection a rise does not grow in proportion to power:
// warm air moves faster. Over the range of a chip's sink it follows
//
//	rise = a · P^n
//
// with n between 0.73 (fins near or below their best spacing, radiation) and
// 0.85 in still air, and up to 1 with a fan. A [Law] is fitted to the states of
// one board. With one state the exponent is what is known of it beforehand;
// with more it is fitted, and that knowledge counts as one more observation. A
// constant resistance is never carried to another power.
//
// # One graph
//
// Powers are those of package tally, in its graph, and everything here is
// recorded into the same graph: the clamp that reads 1 % high makes the
// resistance 1 % low, and the two cancel where that resistance is used to
// predict the same chip. One input stands for each physical cause: a
// thermometer's accuracy line and a sitting's room are shared by all readings
// that have them; how the probe sits, and what else makes readings scatter, is
// estimated from the residuals and is each reading's own.
//
// # Prediction
//
// A [Line] carries the law to another power, room and altitude, with its
// interval; it inverts to the largest power and room that keep a limit with a
// stated probability. Limits come from the study.
//
// # Another sink
//
// Where the sink is described, package heat computes it, and the measurement
// sets the model's one factor for what a drawing does not tell (draught,
// contact, the air's way). A [WhatIf] is then a difference from fact: it starts
// at the measured rise and widens with the distance from it, by 10 % of the
// rise for each factor of two (common practice, no source).
//
// A Cooling records into the graph when it is asked, so one must not be used by
// several goroutines at once, nor beside another use of its tally.
package cooling
