package notebook

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"railtally/internal/study"
)

// Shelved is one row of a chain: an instrument on the shelf that all studies
// share. A study copies the instrument into its plan when it uses it, so that a
// later change here does not change what was found there.
type Shelved struct {
	Row
	Name  string
	Text  string // the YAML section that describes it; JSON where Draft
	Draft bool   // not sound yet
	// Instrument is what the text says.
	Instrument *study.Instrument
}

// instrumentContent lists the columns of an instrument but those of Row.
func instrumentContent() []string { return []string{"name", "form", "body"} }

// Shelf returns the instruments on the shelf, in the order in which they came.
func (nb *Notebook) Shelf(ctx context.Context) (out []Shelved, err error) {
	err = nb.read(ctx, "read the shelf", func(q querier) error {
		out, err = shelfNow(q)
		return err
	})
	return out, err
}

func shelfNow(q querier) (out []Shelved, err error) {
	rows, err := q.query("SELECT " + rowColumns + ", t.name, t.form, t.body FROM instrument t WHERE t.withdrawn = 0 AND " +
		fmt.Sprintf(isHead, "instrument") + " ORDER BY coalesce(t.first, t.id)")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var x Shelved
		var form string
		s := rowScan{r: &x.Row}
		if err := rows.Scan(s.targets(&x.Name, &form, &x.Text)...); err != nil {
			return nil, err
		}
		if err := s.done(); err != nil {
			return nil, err
		}
		x.Draft = form == formDraft
		if x.Instrument, err = decodeInstrument(x.Text, x.Draft); err != nil {
			return nil, damaged(fmt.Sprintf("instrument %d", x.ID), err)
		}
		out = append(out, x)
	}
	return out, rows.Err()
}

// PutInstrument puts an instrument on the shelf. No two there may share a name.
func (nb *Notebook) PutInstrument(ctx context.Context, in *study.Instrument, o Origin) (Ack, error) {
	return nb.keepInstrument(ctx, 0, in, o)
}

// CorrectInstrument supersedes the instrument's row of that id, which must hold
// now. A withdrawn instrument counts again.
func (nb *Notebook) CorrectInstrument(ctx context.Context, id int64, in *study.Instrument, o Origin) (Ack, error) {
	return nb.keepInstrument(ctx, id, in, o)
}

func (nb *Notebook) keepInstrument(ctx context.Context, id int64, in *study.Instrument, o Origin) (ack Ack, err error) {
	const op = "put the instrument on the shelf"
	if strings.TrimSpace(in.Name) == "" {
		return ack, invalid(op, "it has no name")
	}
	text, draft, err := encodeInstrument(in)
	if err != nil {
		return ack, invalid(op, "%w", err)
	}
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(AnInstrument)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		r := Row{Origin: o}
		if id != 0 {
			head, err := c.mustHead(t, id)
			if err != nil {
				return err
			}
			r.First, r.Supersedes = head.First, head.ID
		}
		if err := c.insert(t, &r, in.Name, formOf(draft), text); err != nil {
			return err
		}
		ack = Ack{ID: r.ID, First: r.First}
		return ownName(t, op, r.First)
	})
	return ack, err
}

// ownName refuses what was just put on the shelf under a name that another has.
func ownName(q querier, op string, first int64) error {
	shelf, err := shelfNow(q)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(shelf, func(x Shelved) bool { return x.First == first })
	for j, x := range shelf {
		if i >= 0 && j != i && strings.EqualFold(x.Name, shelf[i].Name) {
			return invalid(op, "an instrument on the shelf is called %q already", x.Name)
		}
	}
	return nil
}
