// Package table sets what a study found, and what it found it from, as tables
// for other programs: for a spreadsheet (CSV), a text (Markdown), a program
// (JSON) and an analysis (Parquet).
//
// A table has columns and rows of cells. A cell that holds a figure is one cell
// to a person, "6.68 ± 0.10 W", and eight fields to a program: value, standard
// uncertainty, degrees of freedom, coverage factor, expanded uncertainty, both
// ends of the interval, and the figure as it is stated. Fields are SI and
// unrounded, and their keys end in their unit.
//
// Nothing is computed here: figures are those of package tally, readings those
// of the record.
package table
