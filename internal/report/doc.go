// Package report writes the page that a study is published with: one HTML
// file that needs nothing else, neither script nor server nor network.
//
// The page says first what was asked and what was found, then shows it, then
// proves it. Every figure can be opened: a total to its rails, a rail to its
// readings and to what limits it. Nothing is computed in the templates, and
// nothing here is computed that package tally has computed already: a view is
// built from the tally, in which each figure is already text with its unit and
// its tolerance, and the templates only set it.
//
// Each section is one file: it builds its part of the view, and the template
// of the same name sets it.
package report
