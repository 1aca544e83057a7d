package notebook

// changesAfter reads changes of a study and of the shelf, or of everything.
func changesAfter(q querier, studyID, after int64, limit int) (out []Change, err error) {
	rows, err := q.query(`SELECT seq, coalesce(study, 0), what, row FROM change
		WHERE seq > ?1 AND (?2 = 0 OR study = ?2 OR study IS NULL) ORDER BY seq LIMIT ?3`, after, studyID, limit)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var c Change
		if err := rows.Scan(&c.Seq, &c.Study, &c.What, &c.Row); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, rows.Err()
}

func lastSeq(q querier) (seq int64, err error) {
	err = q.row("SELECT coalesce(max(seq), 0) FROM change").Scan(&seq)
	return seq, err
}
