package notebook

import "context"

// Withdraw takes a thing back: an entry, a sitting, a photo, a pin, an
// instrument. id must be the row that holds now. With a step or a sitting,
// everything in it no longer counts, until it is brought back.
func (nb *Notebook) Withdraw(ctx context.Context, what What, id int64, o Origin) (Ack, error) {
	return nb.follow(ctx, "withdraw", what, o, func(t *tx, c chain) (head, from, r Row, err error) {
		head, err = c.mustHead(t, id)
		if err == nil && head.Withdrawn {
			err = invalid("withdraw", "%s %d is withdrawn already", what, id)
		}
		return head, head, Row{Withdrawn: true}, err
	})
}

// Undo takes back what row id said, so that the chain says what it said before;
// undoing a first row withdraws it. It is refused with a Conflict when
// something else was said since. Undoing row after row, each by the id it was
// given, walks back through what a person did. It does not go back beyond a
// rename in the plan, because the names of that time lead nowhere now.
func (nb *Notebook) Undo(ctx context.Context, what What, id int64, o Origin) (Ack, error) {
	return nb.follow(ctx, "undo", what, o, func(t *tx, c chain) (head, from, r Row, err error) {
		if head, err = c.head(t, id); err != nil {
			return
		}
		if head.ID != id && head.SameAs != id {
			return head, from, r, c.conflict(t, id, head.ID)
		}
		said, err := c.said(t, head)
		if err != nil {
			return
		}
		if said.Supersedes != 0 && said.Why == whyRenamed {
			err = invalid("undo", "what %s %d refers to is called otherwise in the plan since then; correct it instead", what, id)
			return
		}
		if said.Supersedes == 0 {
			if said.Withdrawn {
				err = invalid("undo", "%s %d never counted", what, id)
			}
			return head, said, Row{Withdrawn: true}, err
		}
		before, err := c.row(t, said.Supersedes)
		if err != nil {
			return
		}
		from, err = c.said(t, before)
		return head, from, Row{SameAs: from.ID, Withdrawn: from.Withdrawn}, err
	})
}

// Redo takes back an Undo: id is the row that Undo added, and must hold now.
func (nb *Notebook) Redo(ctx context.Context, what What, id int64, o Origin) (Ack, error) {
	return nb.follow(ctx, "redo", what, o, func(t *tx, c chain) (head, from, r Row, err error) {
		if head, err = c.mustHead(t, id); err != nil {
			return
		}
		if head.Supersedes == 0 {
			return head, from, r, invalid("redo", "%s %d undoes nothing", what, id)
		}
		before, err := c.row(t, head.Supersedes)
		if err != nil {
			return
		}
		from, err = c.said(t, before)
		return head, from, Row{SameAs: from.ID, Withdrawn: from.Withdrawn}, err
	})
}

// follow adds a row to a chain that says what an earlier one said. choose picks
// the head, the row to repeat, and how the new row is marked.
func (nb *Notebook) follow(ctx context.Context, op string, what What, o Origin, choose func(*tx, chain) (head, from, r Row, err error)) (ack Ack, err error) {
	c, err := chainOf(what)
	if err != nil {
		return ack, invalid(op, "%w", err)
	}
	err = nb.write(ctx, op, func(t *tx) error {
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		head, from, r, err := choose(t, c)
		if err != nil {
			return err
		}
		r.Origin = o
		if err := c.carry(t, head, from, &r); err != nil {
			return err
		}
		ack = Ack{ID: r.ID, First: r.First}
		if r.Withdrawn {
			return nil
		}
		if what == AnInstrument {
			return ownName(t, op, r.First)
		}
		if what != AnEntry {
			return nil
		}
		e, err := entryByID(t, r.ID)
		if err != nil {
			return err
		}
		return free(t, &e)
	})
	return ack, err
}
