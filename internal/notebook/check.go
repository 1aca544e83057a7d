package notebook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"strings"
)

// Problem is one thing wrong with a notebook's file.
type Problem struct {
	Where string // "entry 17", "file"
	What  string
}

// String gives place and fault on one line.
func (p Problem) String() string { return p.Where + ": " + p.What }

// maxProblems ends a check: a file with more has one cause.
const maxProblems = 100

// Check looks at everything that must hold of the notebook: the integrity of
// the file as SQLite sees it, references, and what the schema alone cannot say.
// It returns nil when all is well. An error means that the check could not be
// made, for one because the file is too damaged to be read.
func (nb *Notebook) Check(ctx context.Context) (out []Problem, err error) {
	err = nb.read(ctx, "check the notebook", func(q querier) error {
		out, err = checkAll(q)
		return err
	})
	return out, err
}

// CheckFile checks a notebook without changing it or bringing it up to date. A
// notebook that is in use may be checked too.
func CheckFile(ctx context.Context, path string) ([]Problem, error) {
	const op = "check the notebook"
	info, err := os.Stat(path)
	if err != nil {
		return nil, explained(op, path, err)
	}
	if info.IsDir() || info.Size() == 0 {
		return nil, &Error{Code: NotNotebook, Op: op, Path: path, Err: errors.New("it is empty, or a folder")}
	}
	db, err := forReading(path)
	if err != nil {
		return nil, explained(op, path, err)
	}
	defer db.Close()
	out, err := checkDB(ctx, db, path)
	return out, explained(op, path, err)
}

// checkStill checks a file that nobody writes.
func checkStill(ctx context.Context, path string) ([]Problem, error) {
	db, err := still(path)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	return checkDB(ctx, db, path)
}

func checkDB(ctx context.Context, db *sql.DB, path string) ([]Problem, error) {
	v, err := version(ctx, db, path)
	if err != nil {
		return nil, err
	}
	if v == 0 {
		return nil, &Error{Code: NotNotebook, Op: "check the notebook", Path: path, Err: errors.New("there is nothing in it")}
	}
	t, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer t.Rollback()
	return checkAll(bound{t, ctx})
}

// checkAll runs the checks one after another; what the later ones find means
// little in a file whose pages are damaged.
func checkAll(q querier) (out []Problem, err error) {
	for _, check := range []func(querier) ([]Problem, error){checkPages, checkReferences, checkRules, checkTexts, checkPictures, checkTraces} {
		found, err := check(q)
		if err != nil {
			return nil, err
		}
		if out = found; len(out) > 0 {
			break
		}
	}
	if len(out) > maxProblems {
		out = append(out[:maxProblems:maxProblems], Problem{"file", fmt.Sprintf("and %d more", len(out)-maxProblems)})
	}
	return out, nil
}

// checkPages is SQLite's own check of pages, indexes and constraints.
func checkPages(q querier) (out []Problem, err error) {
	rows, err := q.query(fmt.Sprintf("PRAGMA integrity_check(%d)", maxProblems))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		if text != "ok" {
			out = append(out, Problem{"file", text})
		}
	}
	return out, rows.Err()
}

// checkReferences looks for rows that refer to rows that are not there.
func checkReferences(q querier) (out []Problem, err error) {
	rows, err := q.query("PRAGMA foreign_key_check")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var table, parent string
		var id, key sql.NullInt64
		if err := rows.Scan(&table, &id, &parent, &key); err != nil {
			return nil, err
		}
		out = append(out, Problem{fmt.Sprintf("%s %d", table, id.Int64), "refers to a row of " + parent + " that is not there"})
	}
	return out, rows.Err()
}

// rules are queries that give the ids of rows which break a rule.
func rules() []struct{ table, breaks, query string } {
	out := []struct{ table, breaks, query string }{
		{"study", "has no plan", "SELECT id FROM study s WHERE NOT EXISTS (SELECT 1 FROM plan WHERE study = s.id)"},
		{"plan", "was made from a plan of another study, or a later one", `SELECT p.id FROM plan p JOIN plan b ON b.id = p.based WHERE b.study <> p.study OR b.id >= p.id`},
		{"plan", "repeats a plan that does not precede it", `SELECT p.id FROM plan p JOIN plan b ON b.id = p.same_as WHERE b.study <> p.study OR b.id >= p.id`},
		{"entry", "belongs to another study than its sitting", "SELECT e.id FROM entry e JOIN sitting s ON s.id = e.sitting WHERE s.study <> e.study OR s.first IS NOT NULL"},
		{"entry", "belongs to no step of its sitting", "SELECT e.id FROM entry e JOIN entry s ON s.id = e.step WHERE s.kind <> 'step' OR s.first IS NOT NULL OR s.sitting <> e.sitting"},
		{"entry", "is of another kind or sitting than the entry it supersedes", "SELECT e.id FROM entry e JOIN entry s ON s.id = e.supersedes WHERE s.kind <> e.kind OR s.sitting <> e.sitting"},
		{"entry", "stands where another stands", fmt.Sprintf(`WITH now AS (SELECT * FROM entry t WHERE t.withdrawn = 0 AND t.kind <> 'step' AND %s)
			SELECT max(id) FROM now GROUP BY step, kind, rail, tap, instrument, instrument_range, name, back HAVING count(*) > 1`, fmt.Sprintf(isHead, "entry"))},
		{"mapping", "belongs to another study than its trace", "SELECT m.id FROM mapping m JOIN trace t ON t.id = m.trace WHERE t.study <> m.study"},
		{"series", "has a clock that is none", `SELECT s.id FROM series s LEFT JOIN series c ON c.trace = s.trace AND c.ordinal = s.clock AND c.clock = c.ordinal
			WHERE c.id IS NULL`},
		{"trace", "was never named", "SELECT id FROM trace t WHERE NOT EXISTS (SELECT 1 FROM mapping WHERE trace = t.id)"},
		{"pin", "belongs to another study than its photo", "SELECT p.id FROM pin p JOIN photo f ON f.id = p.photo WHERE f.study <> p.study OR f.first IS NOT NULL"},
		{"photo", "belongs to no step of its study", "SELECT f.id FROM photo f JOIN entry e ON e.id = f.step WHERE e.kind <> 'step' OR e.study <> f.study OR e.first IS NOT NULL"},
	}
	for _, table := range []string{"instrument", "sitting", "entry", "photo", "pin", "tick", "mapping"} {
		out = append(out, struct{ table, breaks, query string }{table, "supersedes a row that is later or of another chain",
			fmt.Sprintf("SELECT t.id FROM %[1]s t JOIN %[1]s s ON s.id = t.supersedes WHERE s.id >= t.id OR t.first <> coalesce(s.first, s.id)", table)},
			struct{ table, breaks, query string }{table, "repeats a row of another chain",
				fmt.Sprintf("SELECT t.id FROM %[1]s t JOIN %[1]s s ON s.id = t.same_as WHERE s.id >= t.id OR t.first <> coalesce(s.first, s.id)", table)})
	}
	for _, table := range []string{"plan", "instrument", "sitting", "entry", "photo", "pin", "tick", "archive", "mapping", "trace_end"} {
		out = append(out, struct{ table, breaks, query string }{table, "was never announced, or more than once",
			fmt.Sprintf(`SELECT t.id FROM %[1]s t LEFT JOIN (SELECT row, count(*) AS n FROM change WHERE what = '%[1]s' GROUP BY row) c
				ON c.row = t.id WHERE coalesce(c.n, 0) <> 1`, table)})
	}
	return out
}

// checkRules runs the rules. A notebook of an earlier version, which is checked
// as it is backed up, has fewer tables.
func checkRules(q querier) (out []Problem, err error) {
	for _, r := range rules() {
		if there, err := hasTable(q, r.table); err != nil {
			return nil, err
		} else if !there {
			continue
		}
		rows, err := q.query(r.query)
		if err != nil {
			return nil, err
		}
		for rows.Next() {
			var id int64
			if err := rows.Scan(&id); err != nil {
				rows.Close()
				return nil, err
			}
			out = append(out, Problem{fmt.Sprintf("%s %d", r.table, id), r.breaks})
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func hasTable(q querier, name string) (there bool, err error) {
	err = q.row("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = ?", name).Scan(&there)
	return there, err
}

// checkTexts reads everything that is kept as text: plans, instruments,
// quantities and times.
func checkTexts(q querier) (out []Problem, err error) {
	type body struct {
		id         int64
		form, text string
	}
	for _, table := range []string{"plan", "instrument"} {
		rows, err := q.query("SELECT id, form, body FROM " + table)
		if err != nil {
			return nil, err
		}
		for rows.Next() {
			var b body
			if err := rows.Scan(&b.id, &b.form, &b.text); err != nil {
				rows.Close()
				return nil, err
			}
			if table == "plan" {
				_, err = decodePlan(b.text, b.form == formDraft)
			} else {
				_, err = decodeInstrument(b.text, b.form == formDraft)
			}
			if err != nil {
				out = append(out, Problem{fmt.Sprintf("%s %d", table, b.id), err.Error()})
			}
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			return nil, err
		}
	}
	sittings, err := q.query("SELECT " + sittingColumns + " FROM sitting t")
	if err != nil {
		return nil, err
	}
	for sittings.Next() {
		x, err := scanSitting(sittings.Scan)
		if err == nil {
			err = x.fault()
		}
		if err != nil {
			out = append(out, Problem{fmt.Sprintf("sitting %d", x.ID), err.Error()})
		}
	}
	if err := errors.Join(sittings.Err(), sittings.Close()); err != nil {
		return nil, err
	}
	columns := entryColumns
	var there bool // a notebook of an earlier version has fewer columns
	if err := q.row("SELECT count(*) FROM pragma_table_info('entry') WHERE name = 'source'").Scan(&there); err != nil {
		return nil, err
	} else if !there {
		columns = strings.Replace(columns, "t.source, t.with_voltage", "'', ''", 1)
	}
	rows, err := q.query("SELECT " + columns + " FROM entry t")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		e, err := scanEntry(rows.Scan)
		if err == nil {
			err = e.Content.fault()
		}
		if err != nil {
			out = append(out, Problem{fmt.Sprintf("entry %d", e.ID), err.Error()})
		}
	}
	return out, rows.Err()
}

// checkPictures compares the bytes of pictures with their names.
func checkPictures(q querier) (out []Problem, err error) {
	rows, err := q.query("SELECT sha256, bytes FROM picture")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		var bytes sql.RawBytes
		if err := rows.Scan(&name, &bytes); err != nil {
			return nil, err
		}
		if sum := sha256.Sum256(bytes); hex.EncodeToString(sum[:]) != name {
			out = append(out, Problem{"picture " + name, "its bytes have changed"})
		}
	}
	return out, rows.Err()
}
