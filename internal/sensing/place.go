package sensing

import (
	"math"

	"railtally/gum"
	"railtally/internal/phrase"
	"railtally/internal/study"
)

// Place is where at the bench a reading was taken. It names causes and findings.
type Place struct {
	Sitting *study.Sitting
	Step    int // index into Sitting.Steps
	Board   *study.Board
	Rail    *study.Rail
	State   string
}

// Room is the sitting's temperature in °C, NaN when it was not recorded.
func (p Place) Room() float64 {
	if p.Sitting.Room == nil {
		return math.NaN()
	}
	return p.Sitting.Room.Value()
}

// finding starts a finding at this place.
func (p Place) finding(code string, sev Severity, text, do phrase.Phrase) Finding {
	return Finding{
		Code: code, Severity: sev, Board: p.Board.Name, Sitting: p.Sitting.Name,
		Rail: p.Rail.Name, States: []string{p.State}, Text: text, Do: do,
	}
}

// tags of an input that belongs to this rail in this sitting.
func (p Place) tags(cause, instrument string) []gum.Tag {
	return tags(TagInstrument, instrument, TagRail, p.Rail.Name, TagCause, cause,
		TagBoard, p.Board.Name, TagSitting, p.Sitting.Name)
}

// name of an input that belongs to one reading at this place.
func (p Place) name(what string) string {
	return p.Board.Name + " " + p.State + ", " + p.Rail.Name + ": " + what
}
