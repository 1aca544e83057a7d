package notebook

import "fmt"

// photoContent lists the columns of a photo but those of Row.
func photoContent() []string { return []string{"study", "board", "side", "step", "note", "picture"} }

// values gives what photoContent names.
func (p *Photo) values() []any {
	return []any{p.Study, p.Board, string(p.Side), null(p.Step), p.Note, p.SHA256}
}

const photoColumns = rowColumns + `, t.study, t.board, t.side, coalesce(t.step, 0), t.note, t.picture,
	c.type, c.width, c.height, length(c.bytes)`

func photoRows(q querier, where string, args ...any) (out []Photo, err error) {
	rows, err := q.query("SELECT "+photoColumns+" FROM photo t JOIN picture c ON c.sha256 = t.picture WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var p Photo
		s := rowScan{r: &p.Row}
		if err := rows.Scan(s.targets(&p.Study, &p.Board, &p.Side, &p.Step, &p.Note, &p.SHA256, &p.Type, &p.Width, &p.Height, &p.Size)...); err != nil {
			return nil, err
		}
		if err := s.done(); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

func photosNow(q querier, studyID int64) ([]Photo, error) {
	return photoRows(q, "t.study = ? AND t.withdrawn = 0 AND "+fmt.Sprintf(isHead, "photo")+" ORDER BY coalesce(t.first, t.id)", studyID)
}

func photoByID(q querier, id int64) (Photo, error) {
	all, err := photoRows(q, "t.id = ?", id)
	if err != nil || len(all) == 0 {
		return Photo{}, orMissing(err, APhoto, id)
	}
	return all[0], nil
}

// pinContent lists the columns of a pin but those of Row.
func pinContent() []string {
	return []string{"study", "photo", "number", "role", "rail", "tap", "point", "x", "y", "note"}
}

// values gives what pinContent names.
func (p *Pin) values() []any {
	return []any{p.Study, p.Photo, p.Number, string(p.Role), p.Rail, p.Tap, p.Point, p.X, p.Y, p.Note}
}

const pinColumns = rowColumns + `, t.study, t.photo, t.number, t.role, t.rail, t.tap, t.point, t.x, t.y, t.note`

func pinRows(q querier, where string, args ...any) (out []Pin, err error) {
	rows, err := q.query("SELECT "+pinColumns+" FROM pin t WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var p Pin
		s := rowScan{r: &p.Row}
		if err := rows.Scan(s.targets(&p.Study, &p.Photo, &p.Number, &p.Role, &p.Rail, &p.Tap, &p.Point, &p.X, &p.Y, &p.Note)...); err != nil {
			return nil, err
		}
		if err := s.done(); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

func pinsNow(q querier, studyID int64) ([]Pin, error) {
	return pinRows(q, "t.study = ? AND t.withdrawn = 0 AND "+fmt.Sprintf(isHead, "pin")+" ORDER BY coalesce(t.first, t.id)", studyID)
}

func pinByID(q querier, id int64) (Pin, error) {
	all, err := pinRows(q, "t.id = ?", id)
	if err != nil || len(all) == 0 {
		return Pin{}, orMissing(err, APin, id)
	}
	return all[0], nil
}

// orMissing is err, or that there is no such row.
func orMissing(err error, what What, id int64) error {
	if err != nil {
		return err
	}
	return missing("read the notebook", what, id)
}
