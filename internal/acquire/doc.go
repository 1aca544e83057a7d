// Package acquire takes readings from live meters.
//
// # The model
//
// A Meter says how one instrument is reached and what it is asked: its address,
// the query that brings a reading, and what is sent before. A Link carries lines
// of text over TCP, a serial line or a USBTMC device file. A session asks one
// question at a time and waits for its answer, since a meter that is asked again
// before it answered is out of step (SCPI -410).
//
// A Station holds several meters and polls each in a goroutine of its own, only
// while somebody listens. Whatever a meter does (vanish, answer late, answer
// half, answer nonsense, flood), its goroutine goes on: the link is closed, and
// tried again after a pause that doubles. Readings that others took are never
// held up by it, and what was taken stays.
//
// # When a reading was taken
//
// Meters do not say when they measured. A reading lies between the question and
// the answer, both on this computer's monotonic clock; it is given the middle,
// and half the time between is how far it may be off. That, for two meters, is
// the skew between their readings. A meter that hands over several readings at
// once spaces them by its own timer, whose interval the settings give.
//
// # What a taken reading is worth
//
// Take averages until averaging no longer helps, by the statistics of package
// trace: the uncertainty of the mean respects that neighbours repeat each other.
package acquire
