// Package look holds the appearance that pages, charts and reports share: a
// palette of named roles for light and for dark surroundings, and one typeface.
//
// The idea is paper and ink with one accent. Ink writes, the accent is
// electrical power, and any other colour appears only where it carries a
// meaning that is also written or shaped: a verdict has its word, a board its
// mark, a rail its label. So everything survives a copier and colour-blind
// eyes.
//
// Colours are asked for by role, never by value. In a page a role is a CSS
// custom property (CSS, Role.Var), in a picture a colour (Palette.Color).
package look
