package notebook

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
)

// planHeads are the columns of a revision but its text.
const planHeads = `t.id, t.study, coalesce(t.based, 0), coalesce(t.same_as, 0), t.question, t.form, t.renames,
	t.key, t.device, t.who, t.why, t.taken_at, t.accepted_at`

func scanPlan(scan func(...any) error, more ...any) (*Plan, error) {
	p := &Plan{}
	var form, renames, taken, accepted string
	if err := scan(append([]any{&p.ID, &p.StudyID, &p.Based, &p.SameAs, &p.Question, &form, &renames,
		&p.Key, &p.Device, &p.Who, &p.Why, &taken, &accepted}, more...)...); err != nil {
		return nil, err
	}
	p.Draft = form == formDraft
	var err error
	if p.Taken, err = readStamp(taken); err != nil {
		return nil, err
	}
	if p.Accepted, err = readStamp(accepted); err != nil {
		return nil, err
	}
	return p, json.Unmarshal([]byte(renames), &p.Renames)
}

// planWhere reads one revision whole.
func planWhere(q querier, where string, args ...any) (*Plan, error) {
	var body string
	row := q.row("SELECT "+planHeads+", t.body FROM plan t WHERE "+where, args...)
	p, err := scanPlan(func(to ...any) error { return row.Scan(append(to, &body)...) })
	if err != nil {
		return nil, err
	}
	p.Text = body
	if p.Study, err = decodePlan(body, p.Draft); err != nil {
		return nil, damaged(fmt.Sprintf("plan %d", p.ID), err)
	}
	return p, nil
}

// planNow reads the newest revision of a study's plan.
func planNow(q querier, studyID int64) (*Plan, error) {
	p, err := planWhere(q, "t.study = ? ORDER BY t.id DESC LIMIT 1", studyID)
	if errors.Is(err, sql.ErrNoRows) {
		err = missing("read the notebook", AStudy, studyID)
	}
	return p, err
}

func planByID(q querier, id int64) (*Plan, error) {
	p, err := planWhere(q, "t.id = ?", id)
	if errors.Is(err, sql.ErrNoRows) {
		err = missing("read the notebook", APlan, id)
	}
	return p, err
}

// planHistory reads all revisions of a study's plan, newest first, without
// their texts.
func planHistory(q querier, studyID int64) (out []*Plan, err error) {
	rows, err := q.query("SELECT "+planHeads+" FROM plan t WHERE t.study = ? ORDER BY t.id DESC", studyID)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		p, err := scanPlan(rows.Scan)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

// addPlan inserts a revision; its Text is made from its Study.
func (t *tx) addPlan(p *Plan) error {
	if p.Key == "" {
		key, err := t.draw()
		if err != nil {
			return err
		}
		p.Key = key
	}
	var err error
	if p.Text, p.Draft, err = encodePlan(p.Study); err != nil {
		return err
	}
	p.Question, p.Accepted = p.Study.Question, t.now
	if p.Renames == nil {
		p.Renames = []Rename{}
	}
	renames, err := json.Marshal(p.Renames)
	if err != nil {
		return err
	}
	p.ID, err = t.add("plan", []string{"study", "based", "same_as", "question", "form", "body", "renames", "key", "device", "who", "why",
		"taken_at", "accepted_at"},
		[]any{p.StudyID, null(p.Based), null(p.SameAs), p.Question, formOf(p.Draft), p.Text, string(renames), p.Key, p.Device, p.Who, p.Why,
			writeStamp(p.Taken), writeStamp(p.Accepted)})
	return err
}

// sentPlan finds a revision that was sent before under the same key.
func sentPlan(q querier, key string) (*Plan, error) {
	if key == "" {
		return nil, nil
	}
	p, err := planWhere(q, "t.key = ?", key)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return p, err
}

func studyExists(q querier, id int64) error {
	var n int64
	if err := q.row("SELECT count(*) FROM study WHERE id = ?", id).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return missing("read the notebook", AStudy, id)
	}
	return nil
}
