// Package chart draws what a tally found: the chip's power by state, the rails
// it is made of, the rail lanes of one state, and the differences.
//
// A chart is made in three steps. Figures come from package tally, as they
// are; nothing is computed here but where things stand. They are laid out as
// marks: areas, lines and texts, whose colours are roles of package look. The
// marks make a Drawing, and one Drawing becomes SVG, PNG or PDF.
//
// One way of showing uncertainty runs through all charts: what is certain at
// the stated level is solid, the coverage interval is a soft end or edge, and
// an ink tick stands at the estimate. A rail that was only bounded is never
// solid. Every figure is also written beside its mark, so that no colour and
// no length is needed to read it.
package chart
