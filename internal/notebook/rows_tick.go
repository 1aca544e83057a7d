package notebook

import "fmt"

// tickContent lists the columns of a tick but those of Row.
func tickContent() []string {
	return []string{"study", "board", "job", "rail", "state", "skipped", "done_at", "worker", "note"}
}

// values gives what tickContent names.
func (x *Tick) values() []any {
	return []any{x.Study, x.Board, string(x.Job), x.Rail, x.State, x.Skipped, writeWall(x.On), x.By, x.Note}
}

const tickColumns = rowColumns + `, t.study, t.board, t.job, t.rail, t.state, t.skipped, t.done_at, t.worker, t.note`

func tickRows(q querier, where string, args ...any) (out []Tick, err error) {
	rows, err := q.query("SELECT "+tickColumns+" FROM tick t WHERE "+where, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var x Tick
		var on string
		s := rowScan{r: &x.Row}
		if err := rows.Scan(s.targets(&x.Study, &x.Board, &x.Job, &x.Rail, &x.State, &x.Skipped, &on, &x.By, &x.Note)...); err != nil {
			return nil, err
		}
		if err := s.done(); err != nil {
			return nil, err
		}
		if x.On, err = readWall(on); err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, rows.Err()
}

// headOf holds for the rows of a table called t that nothing supersedes.
func headOf(table string) string { return fmt.Sprintf(isHead, table) }

func ticksNow(q querier, studyID int64) ([]Tick, error) {
	return tickRows(q, "t.study = ? AND t.withdrawn = 0 AND "+headOf("tick")+" ORDER BY coalesce(t.first, t.id)", studyID)
}
