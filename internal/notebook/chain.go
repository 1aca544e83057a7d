package notebook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// chain is a table whose rows supersede each other.
type chain struct {
	what    What
	table   string
	content []string // its columns but those of Row
}

// chainOf returns the chain that rows of a kind form.
func chainOf(what What) (chain, error) {
	switch what {
	case ASitting:
		return chain{what, "sitting", sittingContent()}, nil
	case AnEntry:
		return chain{what, "entry", entryContent()}, nil
	case APhoto:
		return chain{what, "photo", photoContent()}, nil
	case APin:
		return chain{what, "pin", pinContent()}, nil
	case AnInstrument:
		return chain{what, "instrument", instrumentContent()}, nil
	case ATick:
		return chain{what, "tick", tickContent()}, nil
	case AMapping:
		return chain{what, "mapping", mappingContent()}, nil
	}
	return chain{}, fmt.Errorf("a %s forms no chain", what)
}

// StudyOf tells the study that a row of a sitting, entry, photo or pin is of, and
// the first row of its chain.
func (nb *Notebook) StudyOf(ctx context.Context, what What, id int64) (study, first int64, err error) {
	const op = "read the notebook"
	c, err := chainOf(what)
	if err != nil || !slices.Contains(c.content, "study") {
		return 0, 0, invalid(op, "a %s is of no study", what)
	}
	err = nb.read(ctx, op, func(q querier) error {
		err := q.row("SELECT study, coalesce(first, id) FROM "+c.table+" WHERE id = ?", id).Scan(&study, &first)
		if errors.Is(err, sql.ErrNoRows) {
			return missing(op, what, id)
		}
		return err
	})
	return study, first, err
}

// rowColumns are what Row holds, of a table called t in the query.
const rowColumns = `t.id, coalesce(t.first, t.id), coalesce(t.supersedes, 0), coalesce(t.same_as, 0), t.withdrawn,
	t.key, t.device, t.who, t.why, t.taken_at, t.accepted_at`

// isHead holds for the rows of t that nothing supersedes.
const isHead = `NOT EXISTS (SELECT 1 FROM %[1]s n WHERE n.supersedes = t.id)`

// rowScan receives rowColumns.
type rowScan struct {
	r               *Row
	taken, accepted string
}

func (s *rowScan) targets(more ...any) []any {
	r := s.r
	return append([]any{&r.ID, &r.First, &r.Supersedes, &r.SameAs, &r.Withdrawn, &r.Key, &r.Device, &r.Who, &r.Why, &s.taken, &s.accepted}, more...)
}

func (s *rowScan) done() (err error) {
	if s.r.Taken, err = readStamp(s.taken); err != nil {
		return err
	}
	s.r.Accepted, err = readStamp(s.accepted)
	return err
}

// insert adds a row to a chain and fills in its id. A row with neither
// Supersedes nor First begins a chain.
func (c chain) insert(t *tx, r *Row, values ...any) error {
	key := r.Key
	if key == "" {
		var err error
		if key, err = t.draw(); err != nil {
			return err
		}
	}
	r.Key, r.Accepted = key, t.now
	first := r.First
	if r.Supersedes == 0 {
		first = 0
	}
	id, err := t.add(c.table, append([]string{"first", "supersedes", "same_as", "withdrawn", "key", "device", "who", "why", "taken_at", "accepted_at"}, c.content...),
		append([]any{null(first), null(r.Supersedes), null(r.SameAs), r.Withdrawn, r.Key, r.Device, r.Who, r.Why, writeStamp(r.Taken), writeStamp(r.Accepted)}, values...))
	if err != nil {
		return err
	}
	r.ID = id
	if first == 0 {
		r.First = id
	}
	return nil
}

// add inserts one row into a table and returns its id.
func (t *tx) add(table string, columns []string, values []any) (int64, error) {
	text := "INSERT INTO " + table + " (" + strings.Join(columns, ", ") + ") VALUES (?" + strings.Repeat(", ?", len(values)-1) + ")"
	insert, ok := t.adds[text]
	if !ok {
		var err error
		if insert, err = t.PrepareContext(t.ctx, text); err != nil {
			return 0, err
		}
		t.adds[text] = insert // closed with the transaction
	}
	res, err := insert.ExecContext(t.ctx, values...)
	if err != nil {
		return 0, err
	}
	return res.LastInsertId()
}

// row reads what all chains share of one row.
func (c chain) row(q querier, id int64) (Row, error) {
	r := Row{}
	s := rowScan{r: &r}
	err := q.row("SELECT "+rowColumns+" FROM "+c.table+" t WHERE t.id = ?", id).Scan(s.targets()...)
	if errors.Is(err, sql.ErrNoRows) {
		return r, missing("read the notebook", c.what, id)
	}
	if err != nil {
		return r, err
	}
	return r, s.done()
}

// head reads the row that holds now in the chain of which id is a row.
func (c chain) head(q querier, id int64) (Row, error) {
	r, err := c.row(q, id)
	if err != nil {
		return r, err
	}
	var head int64
	// Ids only grow and a chain does not fork, so the newest row is the head.
	if err := q.row("SELECT coalesce(max(id), ?1) FROM "+c.table+" WHERE first = ?1", r.First).Scan(&head); err != nil {
		return r, err
	}
	return c.row(q, head)
}

// mustHead reads the row of that id and refuses it when it is not the head.
func (c chain) mustHead(q querier, id int64) (Row, error) {
	h, err := c.head(q, id)
	if err != nil || h.ID == id {
		return h, err
	}
	return h, c.conflict(q, id, h.ID)
}

func (c chain) conflict(q querier, based, head int64) error {
	out := &Conflict{What: c.what, Based: based, Head: head}
	if c.what == AnEntry {
		e, err := entryByID(q, head)
		if err != nil {
			return err
		}
		out.Entry = &e
	}
	return out
}

// sent finds a row that was sent before under the same key.
func (c chain) sent(q querier, key string) (r Row, ok bool, err error) {
	if key == "" {
		return r, false, nil
	}
	var id int64
	err = q.row("SELECT id FROM "+c.table+" WHERE key = ?", key).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return r, false, nil
	}
	if err != nil {
		return r, false, err
	}
	r, err = c.row(q, id)
	return r, err == nil, err
}

// carry adds a row that says the same as row from, and supersedes head.
func (c chain) carry(t *tx, head Row, from Row, r *Row) error {
	r.First, r.Supersedes = head.First, head.ID
	values := make([]any, len(c.content))
	targets := make([]any, len(values))
	for i := range values {
		targets[i] = &values[i]
	}
	if err := t.row("SELECT "+strings.Join(c.content, ", ")+" FROM "+c.table+" WHERE id = ?", from.ID).Scan(targets...); err != nil {
		return err
	}
	return c.insert(t, r, values...)
}

// said returns the row that a row repeats, or the row itself.
func (c chain) said(q querier, r Row) (Row, error) {
	if r.SameAs == 0 {
		return r, nil
	}
	return c.row(q, r.SameAs)
}

// null writes 0 as NULL.
func null(id int64) any {
	if id == 0 {
		return nil
	}
	return id
}

// writeStamp writes an instant so that it reads the same in any program; "" for
// the zero time.
func writeStamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

func readStamp(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.RFC3339Nano, s)
}

// wallForm is a clock on the wall, which has no zone.
const wallForm = "2006-01-02T15:04:05.999999999"

func writeWall(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(wallForm)
}

func readWall(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(wallForm, s)
}
