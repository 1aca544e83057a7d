package notebook

import (
	"database/sql"
	"errors"
	"fmt"
)

// sittingContent lists the columns of a sitting but those of Row.
func sittingContent() []string {
	return []string{"study", "board", "name", "began_at", "clock", "room", "room_bare", "voltage_meter", "current_meter", "thermometer",
		"worker", "note"}
}

// values gives what sittingContent names.
func (s *Sitting) values() []any {
	return []any{s.Study, s.Board, s.Name, writeWall(s.On), s.Clock, s.Room, s.RoomBare, s.VoltageMeter, s.CurrentMeter, s.Thermometer,
		s.By, s.Note}
}

const sittingColumns = rowColumns + `, t.study, t.board, t.name, t.began_at, t.clock, t.room, t.room_bare, t.voltage_meter,
	t.current_meter, t.thermometer, t.worker, t.note`

func scanSitting(scan func(...any) error) (x Sitting, err error) {
	var on string
	s := rowScan{r: &x.Row}
	if err := scan(s.targets(&x.Study, &x.Board, &x.Name, &on, &x.Clock, &x.Room, &x.RoomBare, &x.VoltageMeter, &x.CurrentMeter,
		&x.Thermometer, &x.By, &x.Note)...); err != nil {
		return x, err
	}
	if err := s.done(); err != nil {
		return x, err
	}
	x.On, err = readWall(on)
	return x, err
}

// sittingNow reads what holds now of the sitting of which id is a row.
func sittingNow(q querier, id int64) (x Sitting, err error) {
	c, _ := chainOf(ASitting)
	head, err := c.head(q, id)
	if err != nil {
		return x, err
	}
	return sittingByID(q, head.ID)
}

func sittingByID(q querier, id int64) (Sitting, error) {
	x, err := scanSitting(q.row("SELECT "+sittingColumns+" FROM sitting t WHERE t.id = ?", id).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		err = missing("read the notebook", ASitting, id)
	}
	return x, err
}

// sittingsNow reads the sittings of a study that count, in the order in which
// they were opened.
func sittingsNow(q querier, studyID int64) (out []Sitting, err error) {
	rows, err := q.query("SELECT "+sittingColumns+" FROM sitting t WHERE t.study = ? AND t.withdrawn = 0 AND "+
		fmt.Sprintf(isHead, "sitting")+" ORDER BY coalesce(t.first, t.id)", studyID)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		x, err := scanSitting(rows.Scan)
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, rows.Err()
}
