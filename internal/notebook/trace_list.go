package notebook

import (
	"context"
	"errors"
	"fmt"
)

// Traces returns the traces of a study that count, in the order in which they were begun: those whose
// mapping is not withdrawn.
func (nb *Notebook) Traces(ctx context.Context, studyID int64) (out []Trace, err error) {
	err = nb.read(ctx, "read the traces", func(q querier) error {
		all, err := tracesWhere(q, "t.study = ?", studyID)
		for _, x := range all {
			if !x.Mapping.Withdrawn {
				out = append(out, x)
			}
		}
		return err
	})
	return out, err
}

// Trace returns one trace, whether it counts or not.
func (nb *Notebook) Trace(ctx context.Context, id int64) (x Trace, err error) {
	err = nb.read(ctx, "read the trace", func(q querier) error {
		x, err = traceByID(q, id)
		return err
	})
	return x, err
}

// TracesOfLog returns the traces of any study that were made of a log of that length and beginning, the
// unfinished and the withdrawn too, but not those that were given up.
func (nb *Notebook) TracesOfLog(ctx context.Context, size int64, start string) (out []Trace, err error) {
	err = nb.read(ctx, "read the traces", func(q querier) error {
		out, err = tracesWhere(q, "t.source = 'log' AND t.head = ? AND t.size = ? AND coalesce(e.outcome, '') <> 'abandoned'", start, size)
		return err
	})
	return out, err
}

// MapTrace says anew what a trace is called and what its channels are. id is the mapping's row that
// holds now.
func (nb *Notebook) MapTrace(ctx context.Context, id int64, name, note string, roles []ChannelRole, o Origin) (Ack, error) {
	const op = "name the trace"
	return nb.remap(ctx, op, id, o, func(_ *tx, x Trace, m *Mapping) error {
		if err := rolesFit(roles, len(x.Channels)); err != nil {
			return invalid(op, "%w", err)
		}
		m.Name, m.Note, m.Roles = name, note, roles
		return nil
	})
}

// remap puts another row in the place of a mapping's: what it was, as change makes it.
func (nb *Notebook) remap(ctx context.Context, op string, id int64, o Origin, change func(*tx, Trace, *Mapping) error) (ack Ack, err error) {
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(AMapping)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		head, err := c.mustHead(t, id)
		if err != nil {
			return err
		}
		m, err := scanMapping(t.row("SELECT "+mappingColumns+" FROM mapping t WHERE t.id = ?", id).Scan)
		if err != nil {
			return err
		}
		x, err := traceByID(t, m.Trace)
		if err != nil {
			return err
		}
		m.Row = Row{First: head.First, Supersedes: head.ID, Origin: o}
		if err := change(t, x, &m); err != nil {
			return err
		}
		values, err := m.values()
		if err != nil {
			return err
		}
		if err := c.insert(t, &m.Row, values...); err != nil {
			return err
		}
		ack = Ack{ID: m.ID, First: m.First}
		return nil
	})
	return ack, err
}

func rolesFit(roles []ChannelRole, channels int) error {
	seen, taken := map[int]bool{}, map[ChannelRole]bool{}
	for _, r := range roles {
		same := r
		same.Channel = 0
		if taken[same] {
			return fmt.Errorf("two channels cannot both be the %s", r)
		}
		taken[same] = true
		switch {
		case r.Channel < 0 || r.Channel >= channels || seen[r.Channel]:
			return fmt.Errorf("channel %d of %d comes twice or is not there", r.Channel, channels)
		case (r.Is == Current || r.Is == Voltage) && r.Rail == "":
			return fmt.Errorf("channel %d: a %s needs a rail", r.Channel, r.Is)
		case r.Is == Temperature && r.Name == "":
			return fmt.Errorf("channel %d: a temperature needs a name", r.Channel)
		case r.Is != Current && r.Is != Voltage && r.Is != Temperature && r.Is != Throughput:
			return fmt.Errorf("channel %d: a channel cannot be a %q", r.Channel, r.Is)
		}
		seen[r.Channel] = true
	}
	return nil
}

func traceByID(q querier, id int64) (Trace, error) {
	all, err := tracesWhere(q, "t.id = ?", id)
	if err == nil && len(all) == 0 {
		err = missing("read the trace", ATrace, id)
	}
	if err != nil {
		return Trace{}, err
	}
	return all[0], nil
}

// tracesWhere reads traces with all that is known of them.
func tracesWhere(q querier, where string, args ...any) (out []Trace, err error) {
	rows, err := q.query("SELECT "+traceColumns+" FROM "+traceTables+" WHERE "+where+" ORDER BY t.id", args...)
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		x, err := scanTrace(rows.Scan)
		if err != nil {
			rows.Close()
			return nil, err
		}
		out = append(out, x)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return nil, err
	}
	for i := range out {
		if err := out[i].complete(q); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// complete reads channels, counts and the mapping.
func (x *Trace) complete(q querier) error {
	all, err := strandsOf(q, x.ID)
	if err != nil {
		return err
	}
	counts := map[int]int64{}
	for _, s := range all {
		if s.isClock() {
			if _, counts[s.ordinal], err = samplesOf(q, s.id); err != nil {
				return err
			}
		}
	}
	var at []strand
	x.Channels, at = channelsOf(all)
	x.Samples = make([]int64, len(at))
	for i, s := range at {
		x.Samples[i] = counts[s.clock]
	}
	x.Mapping, err = mappingNow(q, x.ID)
	return err
}

// TraceNames returns the traces of a study that count by their names; of two with one name the later.
func (nb *Notebook) TraceNames(ctx context.Context, studyID int64) (map[string]int64, error) {
	out := map[string]int64{}
	err := nb.read(ctx, "read the traces", func(q querier) error {
		rows, err := q.query(`SELECT t.name, t.trace FROM mapping t WHERE t.study = ? AND NOT t.withdrawn
			AND t.id = (SELECT max(id) FROM mapping WHERE trace = t.trace) ORDER BY t.trace`, studyID)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			var id int64
			if err := rows.Scan(&name, &id); err != nil {
				return err
			}
			out[name] = id
		}
		return rows.Err()
	})
	return out, err
}
