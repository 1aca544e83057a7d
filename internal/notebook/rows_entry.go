package notebook

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

// entryContent lists the columns of an entry but those of Row.
func entryContent() []string {
	return []string{"study", "sitting", "step", "kind", "state", "at", "rail", "tap", "instrument", "instrument_range", "name",
		"back", "feed_side", "text", "unit", "bare", "meter", "meter_range", "source", "with_voltage"}
}

// values gives what entryContent names.
func (e *Entry) values() []any {
	return []any{e.Study, e.Sitting, null(e.Step), string(e.Kind), e.State, writeWall(e.At), e.Rail, e.Tap, e.Instrument, e.Range, e.Name,
		e.Back, e.FeedSide, e.Text, e.Unit.Symbol(), e.Bare, e.Meter, e.MeterRange, e.From, e.WithVoltage}
}

const entryColumns = rowColumns + `, t.study, t.sitting, coalesce(t.step, 0), t.kind, t.state, t.at, t.rail, t.tap, t.instrument,
	t.instrument_range, t.name, t.back, t.feed_side, t.text, t.unit, t.bare, t.meter, t.meter_range, t.source, t.with_voltage`

// scanEntry reads one row of entryColumns.
func scanEntry(scan func(...any) error) (e Entry, err error) {
	var at, unit string
	s := rowScan{r: &e.Row}
	if err := scan(s.targets(&e.Study, &e.Sitting, &e.Step, &e.Kind, &e.State, &at, &e.Rail, &e.Tap, &e.Instrument, &e.Range, &e.Name,
		&e.Back, &e.FeedSide, &e.Text, &unit, &e.Bare, &e.Meter, &e.MeterRange, &e.From, &e.WithVoltage)...); err != nil {
		return e, err
	}
	if err := s.done(); err != nil {
		return e, err
	}
	if e.At, err = readWall(at); err != nil {
		return e, err
	}
	e.Unit, err = unitNamed(unit)
	return e, err
}

func entryByID(q querier, id int64) (Entry, error) {
	e, err := scanEntry(q.row("SELECT "+entryColumns+" FROM entry t WHERE t.id = ?", id).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		err = missing("read the notebook", AnEntry, id)
	}
	return e, err
}

func entryRows(q querier, where string, args ...any) (out []Entry, err error) {
	rows, err := q.query("SELECT "+entryColumns+" FROM entry t WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		e, err := scanEntry(rows.Scan)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, rows.Err()
}

// entriesNow reads what holds now in a study, in the order in which its chains
// began. Entries of steps and sittings that were taken back are among them.
func entriesNow(q querier, studyID int64) ([]Entry, error) {
	return entryRows(q, "t.study = ? AND t.withdrawn = 0 AND "+fmt.Sprintf(isHead, "entry")+" ORDER BY coalesce(t.first, t.id)", studyID)
}

// entryInSlot finds the entry that stands in the place of e, which is not of the
// chain of e; ok is false when there is none.
func entryInSlot(q querier, e *Entry) (found Entry, ok bool, err error) {
	all, err := entryRows(q, strings.Join([]string{"t.step = ? AND t.kind = ? AND t.rail = ? AND t.tap = ?",
		"t.instrument = ? AND t.instrument_range = ? AND t.name = ? AND t.back = ?",
		"t.withdrawn = 0 AND coalesce(t.first, t.id) <> ?", fmt.Sprintf(isHead, "entry")}, " AND "),
		e.Step, string(e.Kind), e.Rail, e.Tap, e.Instrument, e.Range, e.Name, e.Back, e.First)
	if err != nil || len(all) == 0 {
		return found, false, err
	}
	return all[0], true, nil
}

// lastStepAt reads the latest time of the steps of a sitting, as it was written.
func lastStepAt(q querier, sitting int64) (at string, err error) {
	err = q.row("SELECT coalesce(max(t.at), '') FROM entry t WHERE t.sitting = ? AND t.kind = 'step' AND t.withdrawn = 0 AND "+
		fmt.Sprintf(isHead, "entry"), sitting).Scan(&at)
	return at, err
}
