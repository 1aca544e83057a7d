package web

import (
	"net/http"
	"net/url"
	"strconv"

	"railtally/internal/notebook"
)

// undo takes back what an entry said; taking that back again redoes it.
func (b *bench) undo(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id, err := strconv.ParseInt(f.Raw("id"), 10, 64)
	if err != nil {
		return badRequest("nothing says what is to be undone", "Load the page again.")
	}
	if _, err := b.entryHere(r, id); err != nil {
		return err
	}
	_, taken := b.wall(f.Raw("taken"))
	origin := notebook.Origin{Key: f.Raw("key"), Device: b.s.device(r), Why: "undo", Taken: taken}
	do := b.s.nb.Undo
	if f.Checked("redo") {
		do, origin.Why = b.s.nb.Redo, "redo"
	}
	ack, err := do(r.Context(), notebook.AnEntry, id, origin)
	if err == nil {
		err = b.tidy(r, ack.ID)
	}
	if wantsJSON(r) {
		k := answer(ack)
		status := http.StatusOK
		if err != nil {
			p := explain(err)
			k, status = kept{Error: p.Text, Accept: p.Do}, p.Status
		}
		return sendJSON(w, r, status, k)
	}
	if err != nil {
		return err
	}
	return seeOther(w, r, "/studies/"+r.PathValue("study")+"/bench/"+r.PathValue("sitting")+"?at="+url.QueryEscape(f.Raw("at")))
}

// choose lets an entry that was set aside take the place of the one that stands.
func (b *bench) choose(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	aside, err1 := strconv.ParseInt(f.Raw("aside"), 10, 64)
	head, err2 := strconv.ParseInt(f.Raw("head"), 10, 64)
	if err1 != nil || err2 != nil {
		return badRequest("nothing says which entry is meant", "Load the page again.")
	}
	e, err := b.entryHere(r, aside)
	if err != nil {
		return err
	}
	if _, err := b.entryHere(r, head); err != nil {
		return err
	}
	_, err = b.s.nb.Correct(r.Context(), head, e.Content, notebook.Origin{
		Key: f.Raw("key"), Device: b.s.device(r), Who: e.Who, Why: "chosen over the other of two entries", Taken: b.s.now()})
	if err != nil {
		return err
	}
	flash(w, "Chosen: "+entered(&e)+".")
	return seeOther(w, r, "/studies/"+r.PathValue("study")+"/bench/"+r.PathValue("sitting"))
}

// tidy sees to it that a step of zeros counts while it holds any, and only then:
// an empty one would be a fault of the study. entry is a row that was just added.
func (b *bench) tidy(r *http.Request, entry int64) error {
	ctx := r.Context()
	e, err := b.s.nb.Entry(ctx, entry)
	if err != nil || e.Kind != notebook.Zero {
		return err
	}
	all, err := b.s.nb.EntriesOf(ctx, e.Step)
	if err != nil {
		return err
	}
	heads := map[int64]*notebook.Entry{} // by first row; later rows supersede
	for i := range all {
		heads[all[i].First] = &all[i]
	}
	step, held := heads[e.Step], false
	for _, h := range heads {
		held = held || h.Step == e.Step && !h.Withdrawn
	}
	if step == nil || step.State != "" || held != step.Withdrawn {
		return nil
	}
	why := notebook.Origin{Device: b.s.device(r), Why: "the step holds nothing any more"}
	if held {
		why.Why = "the step holds something again"
		_, err = b.s.nb.Undo(ctx, notebook.AnEntry, step.ID, why)
		return err
	}
	_, err = b.s.nb.Withdraw(ctx, notebook.AnEntry, step.ID, why)
	return err
}
