package web

import (
	"bytes"
	"context"

	"railtally/internal/notebook"
	"railtally/internal/plan"
)

// SheetPhotos are the photographs of a study's boards with their pins, for the
// bench sheet; those of steps at the bench are left out.
func SheetPhotos(ctx context.Context, nb *notebook.Notebook, study int64) (out []plan.Photo, err error) {
	photos, err := nb.Photos(ctx, study)
	if err != nil || len(photos) == 0 {
		return nil, err
	}
	pins, err := nb.Pins(ctx, study)
	if err != nil {
		return nil, err
	}
	for _, f := range photos {
		if f.Step != 0 {
			continue
		}
		pic, err := nb.PictureOf(ctx, f.SHA256)
		if err != nil {
			return nil, err
		}
		x := plan.Photo{Board: f.Board, Side: string(f.Side), Note: f.Note, Type: pic.Type, Bytes: pic.Bytes, Width: pic.Width, Height: pic.Height}
		for _, p := range pins {
			if p.Photo == f.First {
				x.Pins = append(x.Pins, plan.Pin{Number: p.Number, X: p.X, Y: p.Y, Rail: p.Rail, Label: pinLabel(&p), Note: p.Note})
			}
		}
		out = append(out, x)
	}
	return out, nil
}

func (c *planChecks) sheetOf(ctx context.Context, id int64, p *plan.Plan) ([]byte, error) {
	photos, err := SheetPhotos(ctx, c.s.nb, id)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = plan.Sheet(&b, p, plan.SheetOptions{Program: c.s.program, Photos: photos})
	return b.Bytes(), err
}
