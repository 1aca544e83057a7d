package notebook

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"railtally/internal/quantity"
)

// ATrace names a trace in messages.
const ATrace What = "trace"

// mappingContent lists the columns of a mapping but those of Row.
func mappingContent() []string {
	return []string{"study", "trace", "name", "note", "channels", "clocks"}
}

func (m *Mapping) values() ([]any, error) {
	roles := m.Roles
	if roles == nil {
		roles = []ChannelRole{}
	}
	clocks := m.Clocks
	if clocks == nil {
		clocks = []Clock{}
	}
	text, err := json.Marshal(roles)
	if err != nil {
		return nil, err
	}
	times, err := json.Marshal(clocks)
	return []any{m.Study, m.Trace, m.Name, m.Note, string(text), string(times)}, err
}

const mappingColumns = rowColumns + ", t.study, t.trace, t.name, t.note, t.channels, t.clocks"

func scanMapping(scan func(...any) error) (m Mapping, err error) {
	var roles, clocks string
	s := rowScan{r: &m.Row}
	if err := scan(s.targets(&m.Study, &m.Trace, &m.Name, &m.Note, &roles, &clocks)...); err != nil {
		return m, err
	}
	if err := s.done(); err != nil {
		return m, err
	}
	return m, damaged(fmt.Sprintf("mapping %d", m.ID), errors.Join(json.Unmarshal([]byte(roles), &m.Roles), json.Unmarshal([]byte(clocks), &m.Clocks)))
}

// mappingNow reads what holds now of a trace.
func mappingNow(q querier, trace int64) (Mapping, error) {
	m, err := scanMapping(q.row("SELECT "+mappingColumns+" FROM mapping t WHERE t.trace = ? ORDER BY t.id DESC LIMIT 1", trace).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		err = missing("read the trace", ATrace, trace)
	}
	return m, err
}

const traceColumns = `t.id, t.study, t.source, t.file, t.size, t.head, coalesce(nullif(e.origin, ''), t.origin), coalesce(nullif(e.zone, 0), t.zone), t.settings, t.key, t.device, t.who, t.why,
	t.taken_at, t.accepted_at, coalesce(e.outcome, ''), coalesce(e.sha256, ''), coalesce(e.notes, '[]')`

const traceTables = "trace t LEFT JOIN trace_end e ON e.trace = t.id"

func scanTrace(scan func(...any) error) (x Trace, err error) {
	var origin, taken, accepted, notes string
	if err := scan(&x.ID, &x.Study, &x.Source, &x.File, &x.Size, &x.Start, &origin, &x.Zone, &x.Settings, &x.Key, &x.Device, &x.Who,
		&x.Why, &taken, &accepted, &x.Outcome, &x.SHA256, &notes); err != nil {
		return x, err
	}
	where := fmt.Sprintf("trace %d", x.ID)
	if x.Zero, err = readStamp(origin); err != nil {
		return x, damaged(where, err)
	}
	if x.Taken, err = readStamp(taken); err != nil {
		return x, damaged(where, err)
	}
	if x.Accepted, err = readStamp(accepted); err != nil {
		return x, damaged(where, err)
	}
	return x, damaged(where, json.Unmarshal([]byte(notes), &x.Notes))
}

// a strand is a series as it lies in the file: a channel or a clock.
type strand struct {
	id      int64
	ordinal int
	clock   int // ordinal of its clock
	name    string
	unit    quantity.Unit
}

func (s *strand) isClock() bool { return s.clock == s.ordinal }

// strandsOf reads the series of a trace in their order.
func strandsOf(q querier, trace int64) (out []strand, err error) {
	rows, err := q.query("SELECT id, ordinal, clock, name, unit FROM series WHERE trace = ? ORDER BY ordinal", trace)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s strand
		var unit string
		if err := rows.Scan(&s.id, &s.ordinal, &s.clock, &s.name, &unit); err != nil {
			return nil, err
		}
		if s.unit, err = unitOf(unit); err != nil || s.ordinal != len(out) || s.clock < 0 || s.clock > s.ordinal {
			return nil, damaged(fmt.Sprintf("trace %d", trace), fmt.Errorf("series %d (%q) cannot be: %w", s.ordinal, unit, err))
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

// unitOf returns the unit of a symbol; any unit may be logged.
func unitOf(symbol string) (quantity.Unit, error) {
	for u := quantity.None; u == quantity.None || u.Symbol() != ""; u++ {
		if u.Symbol() == symbol {
			return u, nil
		}
	}
	return quantity.None, fmt.Errorf("no unit is written %q", symbol)
}

// channelsOf leaves the clocks out of the series of a trace and numbers them from 0.
func channelsOf(all []strand) (channels []Channel, at []strand) {
	clocks := map[int]int{}
	for _, s := range all {
		if s.isClock() {
			clocks[s.ordinal] = len(clocks)
			continue
		}
		channels = append(channels, Channel{Name: s.name, Unit: s.unit, Clock: clocks[s.clock]})
		at = append(at, s)
	}
	return channels, at
}

// samplesOf counts the samples that a clock has: those of its chunks and of its tail.
func samplesOf(q querier, clock int64) (chunks, samples int64, err error) {
	err = q.row(`SELECT coalesce((SELECT max(seq) + 1 FROM chunk WHERE series = ?1), 0),
		coalesce((SELECT seq * 65536 + samples FROM chunk WHERE series = ?1 ORDER BY seq DESC LIMIT 1), 0) +
		coalesce((SELECT sum(samples) FROM tail WHERE series = ?1), 0)`, clock).Scan(&chunks, &samples)
	return chunks, samples, err
}
