package notebook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Summary is one line of the list of studies.
type Summary struct {
	ID       int64
	Question string
	Revision int64 // of its plan
	Draft    bool  // the plan is not sound yet
	Archived bool  // put away; see Archive
	Began    time.Time
	Changed  time.Time // when something was last accepted
	Sittings int
	Readings int // zeros, currents, voltages, temperatures and throughputs that hold now
}

// Studies lists the studies, the one changed last first.
func (nb *Notebook) Studies(ctx context.Context) (out []Summary, err error) {
	err = nb.read(ctx, "list the studies", func(q querier) error {
		out, err = summaries(q)
		return err
	})
	return out, err
}

func summaries(q querier) (out []Summary, err error) {
	rows, err := q.query(fmt.Sprintf(`
		SELECT s.id, p.id, p.question, coalesce((SELECT away FROM archive WHERE study = s.id ORDER BY id DESC LIMIT 1), 0), p.form = 'draft', s.accepted_at,
		  max(p.accepted_at,
		      coalesce((SELECT max(accepted_at) FROM sitting WHERE study = s.id), ''),
		      coalesce((SELECT max(accepted_at) FROM entry WHERE study = s.id), ''),
		      coalesce((SELECT max(accepted_at) FROM photo WHERE study = s.id), ''),
		      coalesce((SELECT max(accepted_at) FROM pin WHERE study = s.id), '')),
		  (SELECT count(*) FROM sitting t WHERE t.study = s.id AND t.withdrawn = 0 AND %s),
		  (SELECT count(*) FROM entry t WHERE t.study = s.id AND t.withdrawn = 0 AND t.kind NOT IN ('step', 'note') AND %s)
		FROM study s JOIN plan p ON p.id = (SELECT max(id) FROM plan WHERE study = s.id)
		ORDER BY (SELECT max(seq) FROM change WHERE study = s.id) DESC, s.id DESC`,
		fmt.Sprintf(isHead, "sitting"), fmt.Sprintf(isHead, "entry")))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s Summary
		var began, changed string
		if err := rows.Scan(&s.ID, &s.Revision, &s.Question, &s.Archived, &s.Draft, &began, &changed, &s.Sittings, &s.Readings); err != nil {
			return nil, err
		}
		if s.Began, err = readStamp(began); err != nil {
			return nil, err
		}
		if s.Changed, err = readStamp(changed); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

// Find returns the study that a person means by its number, its question, or a
// part of its question that no other study has. Studies that were put away are
// meant only where no other is.
func (nb *Notebook) Find(ctx context.Context, text string) (Summary, error) {
	const op = "find the study"
	all, err := nb.Studies(ctx)
	if err != nil {
		return Summary{}, err
	}
	wanted := strings.ToLower(strings.TrimSpace(text))
	slices.SortStableFunc(all, func(a, b Summary) int {
		switch {
		case a.Archived == b.Archived:
			return 0
		case b.Archived:
			return -1
		}
		return 1
	})
	var part []Summary
	for _, s := range all {
		q := strings.ToLower(s.Question)
		if q == wanted || strconv.FormatInt(s.ID, 10) == wanted {
			return s, nil
		}
		if wanted != "" && strings.Contains(q, wanted) && (len(part) == 0 || part[0].Archived == s.Archived) {
			part = append(part, s)
		}
	}
	switch len(part) {
	case 0:
		return Summary{}, &Error{Code: NotFound, Op: op, Path: nb.path, Err: fmt.Errorf("no study of the notebook is called %q", text)}
	case 1:
		return part[0], nil
	}
	lines := make([]string, len(part))
	for i, s := range part {
		lines[i] = fmt.Sprintf("%d: %s", s.ID, s.Question)
	}
	return Summary{}, &Error{Code: Invalid, Op: op, Path: nb.path, Hint: "name one by its number: " + strings.Join(lines, "; "),
		Err: errors.New("several studies are meant by " + strconv.Quote(text))}
}
