package web

import (
	"context"
	"fmt"
	"strconv"

	"railtally/internal/notebook"
)

// pinned is the photographs of a study with their pins.
type pinned struct {
	study  int64
	photos []notebook.Photo
	pins   []notebook.Pin
}

// pinView is one pin on its photograph, as a page shows it.
type pinView struct {
	Photo  string `json:"photo"`
	Alt    string `json:"alt"`
	Width  int    `json:"width"`
	Height int    `json:"height"`
	Box    string `json:"box"` // of an SVG, the surroundings of the pin
	CX     int    `json:"cx"`
	CY     int    `json:"cy"`
	R      int    `json:"r"`
	Number string `json:"number"`
	Label  string `json:"label"`
	Note   string `json:"note"`
}

func (s *Server) pinnedOf(ctx context.Context, study int64) (*pinned, error) {
	p := &pinned{study: study}
	var err error
	if p.photos, err = s.nb.Photos(ctx, study); err != nil {
		return nil, err
	}
	if len(p.photos) == 0 {
		return p, nil
	}
	p.pins, err = s.nb.Pins(ctx, study)
	return p, err
}

// of returns the pins of what is read at a slot: for a voltage its probe point,
// for a current the opening of its rail.
func (p *pinned) of(board string, s *wanted) []*pinView {
	out := []*pinView{}
	if p == nil || s.Rail == "" {
		return out
	}
	want := notebook.Opening
	if s.Kind == notebook.Voltage {
		want = notebook.Probe
	}
	for _, f := range p.photos {
		if f.Board != board || f.Step != 0 {
			continue
		}
		for _, x := range p.pins {
			if x.Photo != f.First || x.Role != want || x.Rail != s.Rail || x.Tap != "" && s.Tap != "" && x.Tap != s.Tap {
				continue
			}
			out = append(out, pinAt(p.study, &f, &x))
		}
	}
	return out
}

// pinAt sets a pin out on its photograph, with as much round it as helps to find
// the place on the board: two fifths of the picture's width.
func pinAt(study int64, f *notebook.Photo, x *notebook.Pin) *pinView {
	w, h := float64(f.Width), float64(f.Height)
	bw := max(w*0.4, min(w, 400))
	bh := min(bw*0.66, h)
	cx, cy := x.X*w, x.Y*h
	left := min(max(cx-bw/2, 0), w-bw)
	top := min(max(cy-bh/2, 0), h-bh)
	v := &pinView{Photo: photoPath(study, f), Alt: string(f.Side) + " of " + f.Board, Width: f.Width, Height: f.Height,
		Box: fmt.Sprintf("%.0f %.0f %.0f %.0f", left, top, bw, bh), CX: int(cx), CY: int(cy), R: int(bw / 22), Label: pinLabel(x), Note: x.Note}
	if x.Number > 0 {
		v.Number = strconv.Itoa(x.Number)
	}
	return v
}

// pinLabel says what a pin marks.
func pinLabel(x *notebook.Pin) string {
	name := x.Rail
	if x.Tap != "" {
		name += " " + x.Tap
	}
	if x.Point != "" {
		name += " " + x.Point
	}
	return fmt.Sprintf("%s, %s", name, x.Role)
}

// photoPath is where a photograph is fetched; it names the content, so a browser
// may keep it.
func photoPath(study int64, f *notebook.Photo) string {
	return at("studies", study, "photos", f.SHA256)
}
