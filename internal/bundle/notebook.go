package bundle

import (
	"context"
	"fmt"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

// FromNotebook gathers what a study of the notebook is packed from: what is
// complete of it, its photographs with their pins, and its complete traces. The
// notebook stays open until it is packed. A study whose plan is not sound is
// refused with its first fault.
func FromNotebook(ctx context.Context, nb *notebook.Notebook, id int64) (c Contents, err error) {
	rec, err := nb.Record(ctx, id)
	if err != nil {
		return c, err
	}
	c.Study, c.Unfinished = notebook.Finished(rec.Study)
	if faults := study.Check(c.Study); len(faults) > 0 {
		return c, fmt.Errorf("the study is not complete: %w", faults[0])
	}
	photos, err := nb.Photos(ctx, id)
	if err != nil {
		return c, err
	}
	pins, err := nb.Pins(ctx, id)
	if err != nil {
		return c, err
	}
	for _, p := range photos {
		pic, err := nb.PictureOf(ctx, p.SHA256)
		if err != nil {
			return c, err
		}
		photo := Photo{Board: p.Board, Side: string(p.Side), Step: stepName(rec, p.Step), Note: p.Note, Type: pic.Type, Bytes: pic.Bytes}
		for _, x := range pins {
			if x.Photo == p.First {
				photo.Pins = append(photo.Pins, Pin{x.Number, string(x.Role), x.Rail, x.Tap, x.Point, x.X, x.Y, x.Note})
			}
		}
		c.Photos = append(c.Photos, photo)
	}
	c.Traces, err = tracesOf(ctx, nb, id)
	return c, err
}

// StepNames lists the steps of a record by the words that a photograph of one is
// packed with: "March, step 2".
func StepNames(rec *notebook.Record) map[string]int64 {
	out := map[string]int64{}
	for _, sit := range rec.Study.Sittings {
		for i, st := range sit.Steps {
			out[fmt.Sprintf("%s, step %d", sit.Name, i+1)] = rec.StepOf[st]
		}
	}
	return out
}

// stepName tells a step in words; "" when the photo is of a board, or its step
// was taken back.
func stepName(rec *notebook.Record, step int64) string {
	if step != 0 {
		for name, id := range StepNames(rec) {
			if id == step {
				return name
			}
		}
	}
	return ""
}
