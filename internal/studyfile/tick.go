package studyfile

import "railtally/internal/study"

// readTick reads one step of the work that was done or passed over.
func (p place) readTick() *study.Tick {
	t := &study.Tick{}
	f, ok := p.fields(tickSection)
	if !ok {
		return t
	}
	if q, ok := f.need("board", "the name of a board"); ok {
		t.Board, _ = q.text("the name of a board")
	}
	if q, ok := f.need("job", "open, power up and the like"); ok {
		job, _ := q.text("open, power up and the like")
		t.Job = study.Job(job)
	}
	t.Rail, t.State, t.By, t.Note = f.note("rail"), f.note("state"), f.note("by"), f.note("note")
	if yes := f.yesOrNo("skipped"); yes != nil {
		t.Skipped = *yes
	}
	if q, ok := f.get("on"); ok {
		t.On, _ = q.readDayAndTime()
	}
	return t
}

// doneOut writes the ticks; nil when there are none.
func doneOut(s *study.Study) *out {
	all := &out{kind: list, block: true}
	for _, t := range s.Done {
		o := newMap()
		o.put("board", text(t.Board))
		o.put("job", text(string(t.Job)))
		o.say("rail", t.Rail)
		o.say("state", t.State)
		if t.Skipped {
			o.put("skipped", text("yes"))
		}
		if on := t.On.UTC(); !t.On.IsZero() && on.Equal(midnight(on)) {
			o.say("on", on.Format(dayForm))
		} else if !t.On.IsZero() {
			o.say("on", on.Format(dayForm+" "+clockOf(on)))
		}
		o.say("by", t.By)
		o.say("note", t.Note)
		all.add(o)
	}
	return all.orNil()
}
