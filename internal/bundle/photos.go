package bundle

import (
	"railtally/internal/notebook"
	"railtally/internal/report"
)

// PagePhotos are the photographs as a page shows them.
func (c Contents) PagePhotos() []report.Photo {
	var out []report.Photo
	for _, p := range c.Photos {
		x := report.Photo{Board: p.Board, Side: p.Side, Step: p.Step, Note: p.Note, Picture: p.Bytes}
		for _, pin := range p.Pins {
			x.Pins = append(x.Pins, report.Pin{
				Number: pin.Number, X: pin.X, Y: pin.Y, Rail: pin.Rail, Tap: pin.Tap, Point: pin.Point, Note: pin.Note,
				Opening: pin.Role == string(notebook.Opening), Probe: pin.Role == string(notebook.Probe),
			})
		}
		out = append(out, x)
	}
	return out
}
