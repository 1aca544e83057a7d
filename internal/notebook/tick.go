package notebook

import (
	"context"
	"slices"

	"railtally/internal/study"
)

// Tick is one row of a chain: a step of the work that was done or passed over.
type Tick struct {
	Row
	Study int64
	study.Tick
}

// SetTick says that a job was done, or passed over. Where something was said of the
// same job before, the new row supersedes it, whoever said it: the last word holds.
// Withdraw takes it back, Undo says what was said before.
func (nb *Notebook) SetTick(ctx context.Context, studyID int64, x study.Tick, o Origin) (ack Ack, err error) {
	const op = "tick the step"
	if x.Board == "" || !slices.Contains(study.Jobs, x.Job) || x.Job.OfRail() != (x.Rail != "") || x.State != "" && x.Job != study.JobKnownLoad {
		return ack, invalid(op, "no step of the work is called %q of %q", x.Job, x.Rail)
	}
	err = nb.write(ctx, op, func(t *tx) error {
		c, _ := chainOf(ATick)
		if r, ok, err := c.sent(t, o.Key); ok || err != nil {
			ack = Ack{ID: r.ID, First: r.First, Again: true}
			return err
		}
		if err := studyExists(t, studyID); err != nil {
			return err
		}
		all, err := tickRows(t, "t.study = ? AND "+headOf("tick"), studyID)
		if err != nil {
			return err
		}
		n := Tick{Row: Row{Origin: o}, Study: studyID, Tick: x}
		if i := slices.IndexFunc(all, func(old Tick) bool { return old.Same(&x) }); i >= 0 {
			n.First, n.Supersedes = all[i].First, all[i].ID
		}
		if err := c.insert(t, &n.Row, n.values()...); err != nil {
			return err
		}
		ack = Ack{ID: n.ID, First: n.First}
		return nil
	})
	return ack, err
}

// importTicks keeps the ticks of a study that is imported.
func (t *tx) importTicks(studyID int64, ticks []*study.Tick, o Origin) error {
	c, _ := chainOf(ATick)
	for _, x := range ticks {
		n := Tick{Row: Row{Origin: o}, Study: studyID, Tick: *x}
		if err := c.insert(t, &n.Row, n.values()...); err != nil {
			return err
		}
	}
	return nil
}

// ticksOf lists the ticks of a plan's boards, rails and states. Those of a rail
// that was taken out of the plan wait until it comes back.
func ticksOf(ticks []Tick, s *study.Study) (out []*study.Tick) {
	for i := range ticks {
		x := &ticks[i].Tick
		b := s.Board(x.Board)
		if b != nil && (x.Rail == "" || b.Rail(x.Rail) != nil) && (x.State == "" || s.State(x.State) != nil) {
			out = append(out, x)
		}
	}
	return out
}

// carryTickNames lets ticks follow the renames of a revision.
func (t *tx) carryTickNames(studyID int64, names renamer, o Origin) error {
	ticks, err := ticksNow(t, studyID)
	if err != nil {
		return err
	}
	c, _ := chainOf(ATick)
	for _, x := range ticks {
		n := x
		n.Board = names.to(NamedBoard, "", "", x.Board)
		if x.Rail != "" {
			n.Rail = names.to(NamedRail, x.Board, "", x.Rail)
		}
		if x.State != "" {
			n.State = names.to(NamedState, "", "", x.State)
		}
		if n.Tick == x.Tick {
			continue
		}
		n.Row = Row{First: x.First, Supersedes: x.ID, Origin: o}
		if err := c.insert(t, &n.Row, n.values()...); err != nil {
			return err
		}
	}
	return nil
}
