// Package insertion is the physics of opening a rail and closing it again
// through a loop of wire, a shunt or a meter: what is added in series, what the
// rail loses by it, how hot and how inductive it gets, when it melts.
//
// It is formulas only, in SI units and °C; what they mean for a rail of a study
// is said by package plan. Every formula is checked against worked values in
// testdata, whose sources stand beside them. Rules of thumb are named as such:
// "common practice, no source".
package insertion
