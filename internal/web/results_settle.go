package web

import (
	"net/http"

	"railtally/internal/phrase"
	"railtally/internal/plan"
	"railtally/internal/quantity"
	"railtally/internal/report"
	"railtally/internal/tally"
)

// settleTitle heads what would settle an unresolved difference or an undecided
// claim.
const settleTitle = "What would settle it"

// settleLater leaves that for later: it takes a score of tallies.
func (o *resultsOf) settleLater(href string) section {
	return section{Title: settleTitle, Later: &later{href, "Work out what would settle it"}}
}

// settleClaim works out what would decide a claim.
func (s *Server) settleClaim(w http.ResponseWriter, r *http.Request) error {
	return s.settle(w, r, func(o *resultsOf) (*plan.Doubt, *openedPage, quantity.Unit, []string, error) {
		i, err := o.nth("claim", len(o.Tally.Claims))
		if err != nil {
			return nil, nil, 0, nil, err
		}
		c := o.Tally.Claims[i]
		d, _, err := plan.DoubtOfClaim(o.Tally, c)
		return d, &openedPage{Up: o.to("claims", c.Number), UpName: report.Tell(c.Statement())}, c.Kind.Unit(), phrase.Strings(c.Advice), err
	})
}

// settleDifference works out what would resolve a difference.
func (s *Server) settleDifference(w http.ResponseWriter, r *http.Request) error {
	return s.settle(w, r, func(o *resultsOf) (*plan.Doubt, *openedPage, quantity.Unit, []string, error) {
		d, err := o.differenceIn()
		if err != nil {
			return nil, nil, 0, nil, err
		}
		x, _, err := plan.DoubtOfDifference(o.Tally, d)
		return x, &openedPage{Up: o.differenceHref(d), UpName: d.First.On().String() + " less " + d.Second.On().String()}, quantity.Watt, phrase.Strings(d.Advice), err
	})
}

// settle holds the results only while it reads them, not while it tallies what
// might have been.
func (s *Server) settle(w http.ResponseWriter, r *http.Request, find func(*resultsOf) (*plan.Doubt, *openedPage, quantity.Unit, []string, error)) error {
	id, t, err := s.resultsIn(r)
	if err != nil {
		return err
	}
	t.mu.Lock()
	d, v, unit, otherwise, err := find(&resultsOf{t, id, r})
	t.mu.Unlock()
	if err != nil {
		return err
	}
	sentences := otherwise
	if d != nil {
		x, err := d.Settle(r.Context())
		if err != nil {
			return err
		}
		sentences = x.Sentences(unit)
	}
	if len(sentences) == 0 {
		sentences = []string{"There is nothing to settle."}
	}
	for _, x := range sentences {
		v.Lead = append(v.Lead, report.Prose(x))
	}
	v.Title = settleTitle
	w.Header().Add("Vary", "HX-Request")
	if isHTMX(r) {
		return s.part(w, r, http.StatusOK, "results-opened", "sentences", v.Lead)
	}
	v.After = []string{"Found by changing what was recorded, one thing at a time and then together, and working everything out again. The estimate is taken to stay as it is; new readings will move it."}
	return s.showOpened(w, r, id, t, v)
}

// differenceIn is the difference that the path names.
func (o *resultsOf) differenceIn() (*tally.Difference, error) {
	first, err := o.stateIn(o.r, "board", "state")
	if err != nil {
		return nil, err
	}
	second, err := o.stateIn(o.r, "board2", "state2")
	if err != nil {
		return nil, err
	}
	if !first.Complete || !second.Complete {
		return nil, notFound("one of the two states lacks a rail, so there is no difference")
	}
	return o.compared(first, second)
}
