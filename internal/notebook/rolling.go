package notebook

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Keep says which automatic backups stay: the newest few, and the last of each
// of so many days and months.
type Keep struct {
	Newest, Days, Months int
	// Room is how many bytes the automatic backups may take together; 0: any.
	// Where they would take more, fewer of each kind stay, but always three.
	Room int64
	// Rate is how many bytes of the notebook may be copied in an hour, on the
	// average; 0: any. A larger notebook is copied less often, but once a day.
	Rate int64
}

// DefaultKeep keeps what a person would want back: an hour ago, yesterday, last
// month. Traces make a notebook large: 4 GiB of backups and 256 MiB copied in an
// hour are what a small computer bears without being felt (all of it common
// practice, no source).
func DefaultKeep() Keep { return Keep{Newest: 4, Days: 14, Months: 12, Room: 4 << 30, Rate: 256 << 20} }

// spacing is how old the newest backup of a notebook of so many bytes must be
// before the next is made.
func (k Keep) spacing(every time.Duration, size int64) time.Duration {
	if k.Rate <= 0 || size <= k.Rate {
		return every
	}
	const day = 24 * time.Hour
	return max(every, min(day, time.Duration(float64(size)/float64(k.Rate)*float64(time.Hour))))
}

// rollingHead begins the names of automatic backups. Others in the folder are
// never removed.
const rollingHead = "auto-"

// BackupFile is one automatic backup.
type BackupFile struct {
	Path  string
	Taken time.Time
	Size  int64 // bytes
}

// Backups lists the automatic backups of this notebook, newest first.
func (nb *Notebook) Backups() ([]BackupFile, error) { return backupsIn(BackupFolder(nb.path)) }

func backupsIn(dir string) (out []BackupFile, err error) {
	names, err := filepath.Glob(filepath.Join(escapeGlob(dir), rollingHead+"*.db"))
	if err != nil {
		return nil, err
	}
	for _, n := range names {
		text := strings.TrimSuffix(strings.TrimPrefix(filepath.Base(n), rollingHead), ".db")
		if t, err := time.Parse("20060102T150405Z", text); err == nil {
			info, err := os.Stat(n)
			if errors.Is(err, fs.ErrNotExist) {
				continue // another process removed it
			}
			if err != nil {
				return nil, err
			}
			out = append(out, BackupFile{n, t, info.Size()})
		}
	}
	slices.SortFunc(out, func(a, b BackupFile) int { return b.Taken.Compare(a.Taken) })
	return out, nil
}

// escapeGlob takes their meaning from the signs of a pattern.
func escapeGlob(dir string) string {
	return strings.NewReplacer(`[`, `[[]`, `*`, `[*]`, `?`, `[?]`).Replace(dir)
}

// RollBackup makes an automatic backup when the newest is older than every (of a
// large notebook: than keep.Rate allows), or there is none, and something was
// added since; then it removes those that keep does not want. It returns the path of the new backup, "" when none was due.
func (nb *Notebook) RollBackup(ctx context.Context, every time.Duration, keep Keep) (string, error) {
	now := nb.now().UTC()
	dir := BackupFolder(nb.path)
	clearParts(dir, now)
	have, err := backupsIn(dir)
	if err != nil {
		return "", explained("list the backups in", dir, err)
	}
	if len(have) > 0 {
		info, err := os.Stat(nb.path)
		if err != nil {
			return "", explained("look at", nb.path, err)
		}
		every := keep.spacing(every, info.Size())
		// A clock that was set back must not stop backups: only an age between
		// zero and every means that it is too early.
		if age := now.Sub(have[0].Taken); age >= 0 && age < every {
			return "", nil
		}
		same, err := nb.unchangedSince(ctx, have[0].Path)
		if err != nil || same {
			return "", err
		}
	}
	path := filepath.Join(dir, rollingHead+stamp(now)+".db")
	if err := nb.Backup(ctx, path); CodeOf(err) == Exists {
		return "", nil // another process was as quick
	} else if err != nil {
		return "", err
	}
	if have, err = backupsIn(dir); err != nil {
		return path, explained("list the backups in", dir, err)
	}
	for _, b := range unwanted(have, keep, path) {
		if err := os.Remove(b.Path); err != nil {
			return path, explained("remove the old backup", b.Path, err)
		}
	}
	return path, nil
}

// unchangedSince tells whether a backup holds everything that the notebook does.
// Tables only grow, so it does when it has as many rows. A backup that cannot be
// read holds nothing.
func (nb *Notebook) unchangedSince(ctx context.Context, backup string) (bool, error) {
	var here int64
	err := nb.read(ctx, "count the rows", func(q querier) (err error) {
		here, err = rowCount(q)
		return err
	})
	if err != nil {
		return false, err
	}
	db, err := still(backup)
	if err != nil {
		return false, nil
	}
	defer db.Close()
	t, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return false, nil
	}
	defer t.Rollback()
	there, err := rowCount(bound{t, ctx})
	return err == nil && here == there, nil
}

// rowCount counts the rows of all tables together.
func rowCount(q querier) (sum int64, err error) {
	rows, err := q.query("SELECT name FROM sqlite_schema WHERE type = 'table'")
	if err != nil {
		return 0, err
	}
	var tables []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			rows.Close()
			return 0, err
		}
		tables = append(tables, name)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return 0, err
	}
	for _, name := range tables {
		var n int64
		if err := q.row(`SELECT count(*) FROM "` + name + `"`).Scan(&n); err != nil {
			return 0, err
		}
		sum += n
	}
	return sum, nil
}

// leastKept is how many automatic backups stay whatever room they take.
const leastKept = 3

// unwanted picks the backups, given newest first, that keep has no use for or no
// room. The one just made stays in any case. Room is given out in turn to
// the days, the months and the newest, so that of a large notebook, too, there is
// one of this hour, one of an earlier day and one of an earlier month.
func unwanted(have []BackupFile, keep Keep, made string) (out []BackupFile) {
	var kinds [3][]int // indices of have: the days', the months', the newest
	days, months := make(map[string]bool), make(map[string]bool)
	for i, b := range have {
		day, month := b.Taken.Format("2006-01-02"), b.Taken.Format("2006-01")
		if i < max(keep.Newest, 1) {
			kinds[2] = append(kinds[2], i)
		}
		if !days[day] && len(days) < keep.Days {
			days[day] = true
			kinds[0] = append(kinds[0], i)
		}
		if !months[month] && len(months) < keep.Months {
			months[month] = true
			kinds[1] = append(kinds[1], i)
		}
	}
	stays, room, n := make([]bool, len(have)), keep.Room, 0
	take := func(i int) { stays[i], room, n = true, room-have[i].Size, n+1 }
	for i, b := range have {
		if b.Path == made {
			take(i)
		}
	}
	for more := true; more; {
		more = false
		for k := range kinds {
			for len(kinds[k]) > 0 && stays[kinds[k][0]] {
				kinds[k] = kinds[k][1:]
			}
			if len(kinds[k]) == 0 {
				continue
			}
			i := kinds[k][0]
			kinds[k], more = kinds[k][1:], true
			if keep.Room <= 0 || n < leastKept || room >= have[i].Size {
				take(i)
			}
		}
	}
	for i, b := range have {
		if !stays[i] {
			out = append(out, b)
		}
	}
	return out
}

// RunBackups makes automatic backups until ctx ends: one at once if it is due,
// then whenever every has passed. report hears of each that was made and of
// each that failed; it may be nil.
func (nb *Notebook) RunBackups(ctx context.Context, every time.Duration, keep Keep, report func(path string, err error)) {
	look := time.NewTicker(max(every/4, time.Second))
	defer look.Stop()
	for {
		path, err := nb.RollBackup(ctx, every, keep)
		if ctx.Err() != nil {
			return
		}
		if report != nil && (path != "" || err != nil) {
			report(path, err)
		}
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
	}
}
