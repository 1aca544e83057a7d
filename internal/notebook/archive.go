package notebook

import (
	"context"
	"database/sql"
	"errors"
)

// Archive puts a study away (away true) or brings it back. A study that was put
// away keeps everything and can still be read and written; lists show it apart.
// Where it is so already, nothing is added.
func (nb *Notebook) Archive(ctx context.Context, studyID int64, away bool, o Origin) error {
	return nb.write(ctx, "archive the study", func(t *tx) error {
		if err := studyExists(t, studyID); err != nil {
			return err
		}
		is, err := archived(t, studyID)
		if err != nil || is == away {
			return err
		}
		key := o.Key
		if key == "" {
			if key, err = t.draw(); err != nil {
				return err
			}
		}
		var sent int
		if err := t.row("SELECT count(*) FROM archive WHERE key = ?", key).Scan(&sent); err != nil || sent > 0 {
			return err
		}
		_, err = t.add("archive", []string{"study", "away", "key", "device", "who", "why", "taken_at", "accepted_at"},
			[]any{studyID, away, key, o.Device, o.Who, o.Why, writeStamp(o.Taken), writeStamp(t.now)})
		return err
	})
}

// archived tells whether a study is put away.
func archived(q querier, studyID int64) (away bool, err error) {
	err = q.row("SELECT away FROM archive WHERE study = ? ORDER BY id DESC LIMIT 1", studyID).Scan(&away)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return away, err
}
