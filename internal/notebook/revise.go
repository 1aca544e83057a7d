package notebook

import (
	"context"

	"railtally/internal/study"
)

// NewStudy begins a study with a first plan, which may be no more than its
// question. Sittings and ticks of the given
// study are not kept; see Import.
func (nb *Notebook) NewStudy(ctx context.Context, plan *study.Study, o Origin) (p *Plan, err error) {
	err = nb.write(ctx, "begin the study", func(t *tx) error {
		if p, err = sentPlan(t, o.Key); p != nil || err != nil {
			return err
		}
		p, err = t.newStudy(plan, o)
		return err
	})
	return p, err
}

func (t *tx) newStudy(plan *study.Study, o Origin) (*Plan, error) {
	key := o.Key
	if key == "" {
		var err error
		if key, err = t.draw(); err != nil {
			return nil, err
		}
		o.Key = key
	}
	id, err := t.add("study", []string{"key", "device", "who", "why", "taken_at", "accepted_at"},
		[]any{key, o.Device, o.Who, o.Why, writeStamp(o.Taken), writeStamp(t.now)})
	if err != nil {
		return nil, err
	}
	bare := *plan
	bare.Sittings, bare.Done = nil, nil
	p := &Plan{StudyID: id, Study: &bare, Origin: o}
	return p, t.addPlan(p)
}

// Plan returns the newest revision of a study's plan.
func (nb *Notebook) Plan(ctx context.Context, studyID int64) (p *Plan, err error) {
	err = nb.read(ctx, "read the plan", func(q querier) error {
		p, err = planNow(q, studyID)
		return err
	})
	return p, err
}

// PlanAt returns one revision of a plan.
func (nb *Notebook) PlanAt(ctx context.Context, id int64) (p *Plan, err error) {
	err = nb.read(ctx, "read the plan", func(q querier) error {
		p, err = planByID(q, id)
		return err
	})
	return p, err
}

// PlanHistory returns all revisions of a study's plan, newest first, without
// their texts: who changed it, when and why.
func (nb *Notebook) PlanHistory(ctx context.Context, studyID int64) (out []*Plan, err error) {
	err = nb.read(ctx, "read the plan", func(q querier) error {
		out, err = planHistory(q, studyID)
		return err
	})
	return out, err
}

// SavePlan adds a revision of a study's plan, made from revision based. It is
// refused with a PlanConflict when that is no longer the newest. A plan need not
// be sound; study.Check says what it lacks. Sittings of the given study are not
// looked at. What was recorded under names that the revision changes follows by
// the renames given.
func (nb *Notebook) SavePlan(ctx context.Context, studyID, based int64, plan *study.Study, o Origin, renames ...Rename) (*Plan, error) {
	return nb.revise(ctx, "save the plan", studyID, based, o, func(*tx, *Plan) (*Plan, error) {
		bare := *plan
		bare.Sittings, bare.Done = nil, nil
		return &Plan{Study: &bare, Renames: renames}, nil
	})
}

// UndoPlan adds a revision that says what the plan said before revision based,
// which must be the newest. Undoing again walks farther back.
func (nb *Notebook) UndoPlan(ctx context.Context, studyID, based int64, o Origin) (*Plan, error) {
	return nb.revise(ctx, "undo in the plan", studyID, based, o, func(t *tx, head *Plan) (*Plan, error) {
		said, err := saidPlan(t, head)
		if err != nil {
			return nil, err
		}
		if said.Based == 0 {
			return nil, invalid("undo in the plan", "this is how the study began")
		}
		before, err := planByID(t, said.Based)
		if err != nil {
			return nil, err
		}
		if before, err = saidPlan(t, before); err != nil {
			return nil, err
		}
		return &Plan{Study: before.Study, SameAs: before.ID, Renames: renamer(said.Renames).reversed()}, nil
	})
}

// RedoPlan takes back an UndoPlan: it adds a revision that says again what was
// last said after what the plan says now.
func (nb *Notebook) RedoPlan(ctx context.Context, studyID, based int64, o Origin) (*Plan, error) {
	return nb.revise(ctx, "redo in the plan", studyID, based, o, func(t *tx, head *Plan) (*Plan, error) {
		said, err := saidPlan(t, head)
		if err != nil {
			return nil, err
		}
		all, err := planHistory(t, studyID)
		if err != nil {
			return nil, err
		}
		says := make(map[int64]int64, len(all)) // revision → the one whose text it has
		for _, p := range all {
			says[p.ID] = p.ID
			if p.SameAs != 0 {
				says[p.ID] = p.SameAs
			}
		}
		for _, p := range all { // newest first
			if p.SameAs == 0 && p.Based != 0 && says[p.Based] == said.ID && p.ID != said.ID {
				next, err := planByID(t, p.ID)
				if err != nil {
					return nil, err
				}
				return &Plan{Study: next.Study, SameAs: next.ID, Renames: next.Renames}, nil
			}
		}
		return nil, invalid("redo in the plan", "nothing was undone here")
	})
}

// saidPlan returns the revision that a revision repeats, or itself.
func saidPlan(q querier, p *Plan) (*Plan, error) {
	if p.SameAs == 0 {
		return p, nil
	}
	return planByID(q, p.SameAs)
}

// revise adds the revision that next makes of the head.
func (nb *Notebook) revise(ctx context.Context, op string, studyID, based int64, o Origin, next func(*tx, *Plan) (*Plan, error)) (out *Plan, err error) {
	err = nb.write(ctx, op, func(t *tx) error {
		if out, err = sentPlan(t, o.Key); out != nil || err != nil {
			return err
		}
		head, err := planNow(t, studyID)
		if err != nil {
			return err
		}
		if head.ID != based {
			old, err := planByID(t, based)
			if err != nil {
				return err
			}
			return &PlanConflict{Based: old, Head: head}
		}
		if out, err = next(t, head); err != nil {
			return err
		}
		out.StudyID, out.Based, out.Origin = studyID, head.ID, o
		if err := t.addPlan(out); err != nil {
			return err
		}
		return t.carryNames(head, out.Renames, o)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
