package web

import (
	"sync"

	"railtally/internal/cooling"
	"railtally/internal/study"
	"railtally/internal/tally"
)

// coolingDesk works out the cooling of a study while sliders move. Every question
// is recorded into a graph, so it has a tally of its own, which it makes anew
// when the graph has grown large; and it keeps what was worked out last, as most
// questions change the sink alone.
type coolingDesk struct {
	mu    sync.Mutex
	study *study.Study // complete and sound

	tally *tally.Tally
	key   string
	kept  *askedCooling
}

// askedCooling is the cooling of one board at what was asked, with what does not
// depend on the sink that is tried.
type askedCooling struct {
	*cooling.Cooling
	board      *cooling.Board
	answers    []cooling.Answer
	candidates []*cooling.Candidate
}

// largestGraph is how many values a desk's graph may hold before it is left.
const largestGraph = 200_000

// ask returns the cooling of a board at what is asked, which the key names; nil
// where the board has none. Hold mu.
func (d *coolingDesk) ask(key string, opt cooling.Options) (*askedCooling, error) {
	if d.kept != nil && d.key == key && d.tally.Graph.Len() < largestGraph {
		return d.kept, nil
	}
	if d.tally == nil || d.tally.Graph.Len() >= largestGraph {
		var err error
		if d.tally, err = tally.Run(d.study, tally.Options{}); err != nil {
			return nil, err
		}
		d.kept = nil
	}
	c, err := cooling.Run(d.tally, opt)
	if err != nil || len(c.Boards) == 0 {
		return nil, err
	}
	x := &askedCooling{Cooling: c, board: c.Boards[0]}
	if x.answers, err = c.Answers(x.board); err != nil {
		return nil, err
	}
	if x.candidates, err = c.Candidates(x.board); err != nil {
		return nil, err
	}
	d.key, d.kept = key, x
	return x, nil
}
