package notebook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
)

// AddPhoto keeps a photo of a board's side or of a step. The picture must have
// been decoded and cleaned by the caller; here it is bytes.
func (nb *Notebook) AddPhoto(ctx context.Context, studyID int64, v View, pic Picture, o Origin) (ack Ack, err error) {
	const op = "keep the photo"
	if len(pic.Bytes) == 0 || pic.Width <= 0 || pic.Height <= 0 || pic.Type == "" {
		return ack, invalid(op, "the picture is empty or its size or type is not said")
	}
	sum := sha256.Sum256(pic.Bytes)
	name := hex.EncodeToString(sum[:])
	return nb.keepPhoto(ctx, op, o, func(t *tx) (*Photo, error) {
		if err := studyExists(t, studyID); err != nil {
			return nil, err
		}
		_, err := t.ExecContext(t.ctx, "INSERT INTO picture (sha256, type, width, height, bytes) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
			name, pic.Type, pic.Width, pic.Height, pic.Bytes)
		return &Photo{Study: studyID, View: v, SHA256: name}, err
	})
}

// CorrectPhoto supersedes the photo's row of that id, which must hold now, with
// another view. The picture stays. A withdrawn photo counts again.
func (nb *Notebook) CorrectPhoto(ctx context.Context, id int64, v View, o Origin) (Ack, error) {
	return nb.keepPhoto(ctx, "correct the photo", o, func(t *tx) (*Photo, error) {
		c, _ := chainOf(APhoto)
		if _, err := c.mustHead(t, id); err != nil {
			return nil, err
		}
		p, err := photoByID(t, id)
		p.Row, p.View = Row{First: p.First, Supersedes: p.ID}, v
		return &p, err
	})
}

func (nb *Notebook) keepPhoto(ctx context.Context, op string, o Origin, make func(*tx) (*Photo, error)) (ack Ack, err error) {
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(APhoto)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		p, err := make(t)
		if err != nil {
			return err
		}
		p.Origin = o
		switch {
		case p.Step == 0 && (p.Board == "" || p.Side != Front && p.Side != Back):
			return invalid(op, "a photo needs a step, or a board and its side")
		case p.Step != 0:
			step, err := entryByID(t, p.Step)
			if err != nil {
				return err
			}
			if step.Kind != Step || step.Study != p.Study {
				return invalid(op, "entry %d is no step of the study", p.Step)
			}
			p.Step = step.First
		}
		if err := c.insert(t, &p.Row, p.values()...); err != nil {
			return err
		}
		ack = Ack{ID: p.ID, First: p.First}
		return nil
	})
	return ack, err
}

// Photos returns the photos of a study, in the order in which they were added.
func (nb *Notebook) Photos(ctx context.Context, studyID int64) (out []Photo, err error) {
	err = nb.read(ctx, "read the photos", func(q querier) error {
		out, err = photosNow(q, studyID)
		return err
	})
	return out, err
}

// PictureOf returns the bytes of a photo by their SHA-256, as Photo names it.
func (nb *Notebook) PictureOf(ctx context.Context, sum string) (p Picture, err error) {
	err = nb.read(ctx, "read the photo", func(q querier) error {
		err := q.row("SELECT type, width, height, bytes FROM picture WHERE sha256 = ?", sum).Scan(&p.Type, &p.Width, &p.Height, &p.Bytes)
		if errors.Is(err, sql.ErrNoRows) {
			return &Error{Code: NotFound, Op: "read the photo", Err: errors.New("no picture " + sum)}
		}
		return err
	})
	return p, err
}

// AddPin puts a pin on a photo.
func (nb *Notebook) AddPin(ctx context.Context, photo int64, s Spot, o Origin) (Ack, error) {
	return nb.keepPin(ctx, "place the pin", s, o, func(t *tx) (*Pin, error) {
		c, _ := chainOf(APhoto)
		head, err := c.head(t, photo)
		if err != nil {
			return nil, err
		}
		p, err := photoByID(t, head.ID)
		return &Pin{Study: p.Study, Photo: p.First}, err
	})
}

// MovePin supersedes the pin's row of that id, which must hold now: another
// place, rail, number or note. A withdrawn pin counts again.
func (nb *Notebook) MovePin(ctx context.Context, id int64, s Spot, o Origin) (Ack, error) {
	return nb.keepPin(ctx, "move the pin", s, o, func(t *tx) (*Pin, error) {
		c, _ := chainOf(APin)
		if _, err := c.mustHead(t, id); err != nil {
			return nil, err
		}
		p, err := pinByID(t, id)
		p.Row = Row{First: p.First, Supersedes: p.ID}
		return &p, err
	})
}

func (nb *Notebook) keepPin(ctx context.Context, op string, s Spot, o Origin, make func(*tx) (*Pin, error)) (ack Ack, err error) {
	switch {
	case !(s.X >= 0 && s.X <= 1 && s.Y >= 0 && s.Y <= 1):
		return ack, invalid(op, "a pin lies within its photo, from 0 to 1 in x and in y")
	case s.Role != Opening && s.Role != Probe && s.Role != Other:
		return ack, invalid(op, "a pin marks an opening, a probe or something other, not %q", s.Role)
	case s.Number < 0:
		return ack, invalid(op, "a pin has no number below zero")
	}
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(APin)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		p, err := make(t)
		if err != nil {
			return err
		}
		p.Spot, p.Origin = s, o
		if err := c.insert(t, &p.Row, p.values()...); err != nil {
			return err
		}
		ack = Ack{ID: p.ID, First: p.First}
		return nil
	})
	return ack, err
}

// Pins returns the pins of a study's photos, in the order in which they were
// placed.
func (nb *Notebook) Pins(ctx context.Context, studyID int64) (out []Pin, err error) {
	err = nb.read(ctx, "read the pins", func(q querier) error {
		out, err = pinsNow(q, studyID)
		return err
	})
	return out, err
}
