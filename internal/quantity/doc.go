// Package quantity is the one reader of everything a bench person types and the one printer of
// everything a bench person reads: "9.6 mV", "1.8 V ±2 %", "10..50 mA" in, "6.68 ± 0.10 W" out.
// It knows units and digits, and nothing of boards or meters.
//
// # Numbers and units
//
// A number is kept exactly as it was written until it is in SI, and is rounded once: 0.1 mV is the
// float64 nearest to 1e-4. What is read is
//
//	number   = [ sign ] digits [ mark digits ] [ "e" [ sign ] digits ]  |  [ sign ] "." digits ...
//	sign     = "+" | "-" | "−" (or another dash)
//	mark     = "." | ","
//	digits   = 0-9, with thousands in threes behind a thin space, a narrow no-break space or ' or ’
//
// A comma between two digits is a decimal mark, always: "1,234 V" is 1.234 V. A comma with a space
// behind it separates values. One entry uses one decimal mark; a number with both is refused.
// A plain space separates values as well, so "509 511 512 mV" are three readings; where digits
// could as well be one number in groups of three ("1 234.5 mV") they are refused.
//
//	unit     = simple [ ("/" | " per ") simple ]
//	simple   = [ prefix ] symbol | [ prefix name ] name        mV, µA, uA, mΩ, mOhm, milliohm, °C, GB
//
// Case matters in symbols, as m and M differ by nine powers of ten; names are read in any case.
// Prefixes that do not occur on a bench are refused, which catches the common slips: "MV" and "mv"
// are answered with "write mV". Units that are no power of ten of SI are read where they are
// usual: min, h, d, in, KiB, MiB, GiB, bits for bytes. Unit Celsius is a temperature ("K" is then
// counted from absolute zero), unit Kelvin is a difference of temperatures. Percent, ‰, ppm and
// ppb are ways to write a ratio.
//
// # Entries
//
// [Parse] reads one entry for a wanted unit:
//
//	entry     = single | repeats | band
//	single    = value [ tolerance [ coverage ] ]  |  "(" number "±" number ")" [ unit ] [ coverage ]
//	value     = number [ unit ]
//	tolerance = "±" value  |  "+" value "/" "-" value            ± may be typed +/- or +-
//	coverage  = "(k=2)" | "(95 %)" | "(k=2, 95 %)"
//	repeats   = value { ( " " | ", " | ";" ) value }             the unit once, last or first, or everywhere
//	band      = value ( ".." | "…" | "–" | "to" ) value          either end may come first
//	          | ( "<" | "≤" | "up to" | "at most" | "below" | "max" ) value      from zero
//
// A dash between two values means "to", except with space before it and none behind, when it is
// the sign of the next value: "10 - 50" is a band, "10 -50" are two values. A percentage behind ±
// is of the value; the unit of the tolerance counts for a value without one, but not the other way
// round: "1.8 V ± 2" could mean volts or percent and is refused. A tolerance with nothing behind
// it states limits. What a display shows when it has no reading (OL, overload, ---) is refused in
// words of its own.
//
// # Other lines
//
// [ParseSpec] reads a line of a specification sheet, [ParseTempCo] its temperature coefficient,
// [ParseRatio] a scale or a drift, [ParseWire] the wire that a rail was opened with:
//
//	spec   = [ "±" ] ( term | "(" term { "+" term } ")" ) [ "after zero" ] [ coverage ]
//	term   = number ( "%" | "ppm" ) [ [ "of" ] ( "reading" | "rdg" | "range" | "full scale" | "fs" ) ]
//	       | number ( "digits" | "counts" | "dgt" | "d" )  |  value
//	tempco = spec ( "/" | "per" ) ( "K" | "°C" ) ( "outside" band | "outside" single | "from" value )
//	ratio  = value ( "/" | "per" ) [ number ] unit
//	wire   = length ( "AWG" gauge | gauge "AWG" | area ) [ resistance ]  |  resistance [ tolerance ]
//
// Every failure is an [*Error] that names the place and what would be accepted.
//
// # Printing
//
// [Format] and [FormatU] choose an engineering prefix; [Scale] chooses one for a whole row or
// column. An uncertainty is printed to two significant digits and its value to the same place.
// The String method of an entry, a spec and the rest writes a text that reads back as the same
// thing, to the last bit.
package quantity
