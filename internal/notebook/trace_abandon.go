package notebook

import "context"

// abandonBatch is how many chunks are removed in one transaction, so that giving up a large import needs little
// room and holds up nobody.
const abandonBatch = 64

// AbandonTrace gives up a trace that was not finished, and removes its samples. What can be told of it,
// its file and its settings, stays. One that was given up before, but whose samples could not all be
// removed then, is tidied up.
func (nb *Notebook) AbandonTrace(ctx context.Context, id int64, o Origin) error {
	const op = "give up the trace"
	// What was committed goes into the file first, so that the log beside it begins anew and need not grow.
	// Where readers prevent that it is only slower.
	_, _ = nb.w.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	err := nb.write(ctx, op, func(t *tx) error {
		x, err := traceByID(t, id)
		if err != nil {
			return err
		}
		switch x.Outcome {
		case Complete:
			return invalid(op, "trace %d is %s already", id, x.Outcome)
		case Abandoned:
			return nil
		}
		m, err := mappingNow(t, id)
		if err != nil {
			return err
		}
		if !m.Withdrawn {
			c, _ := chainOf(AMapping)
			if err := c.carry(t, m.Row, m.Row, &Row{Withdrawn: true, Origin: o}); err != nil {
				return err
			}
		}
		return t.endTrace(id, Abandoned, TraceEnd{})
	})
	for _, table := range []string{"tail", "outline", "chunk"} {
		for more := true; more && err == nil; {
			err = nb.write(ctx, op, func(t *tx) error {
				res, err := t.ExecContext(ctx, "DELETE FROM "+table+" WHERE id IN (SELECT x.id FROM "+table+
					" x JOIN series s ON s.id = x.series WHERE s.trace = ? LIMIT ?)", id, abandonBatch)
				if err != nil {
					return err
				}
				n, err := res.RowsAffected()
				more = n == abandonBatch
				return err
			})
		}
	}
	return err
}
