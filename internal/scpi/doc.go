// Package scpi is the language that bench meters speak over a wire: what is
// asked of them, and what comes back.
//
// # The model
//
// A message is one line of text that ends with a line feed. It holds units
// separated by ";", each a header (":SENSe:VOLTage:NPLC", "*IDN?") and perhaps
// parameters separated by ",". A header that ends in "?" is a query and brings
// exactly one response line, however many queries the message held: their
// answers are joined by ";", the elements of one answer by ",".
//
// What comes back is not trusted. A reading may be a number in any of three
// spellings, an overload (9.9E37, or a word), no number (9.91E37), decorated
// with a unit, a time stamp or a count, cut in half, or garbage; Readings tells
// them apart, and every parser here is fuzzed.
//
// Sources: IEEE 488.2-1992 and SCPI-1999 as public texts and parsers show them;
// the paid texts were not read. What is from memory is marked where it stands.
//
// Both sides are here, because both are used: Unit and Match for a program that
// answers as a meter does, Readings, ParseIdent and ParseFault for one that asks.
package scpi
