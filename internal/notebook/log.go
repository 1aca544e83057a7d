package notebook

import (
	"slices"
	"sync"

	"railtally/internal/quantity"
)

// logs keeps the logs of the studies that were last read. Rows never change, so
// a log that was read once only has to be read on.
type logs struct {
	mu      sync.Mutex
	studies map[int64]*studyLog
	recent  []int64 // newest last
}

// maxLogs is how many studies are kept: those of a few pages that are open at
// the same time. A study of 10,000 readings takes about 10 MB.
const maxLogs = 8

// of returns the log of a study, an empty one when it is not kept.
func (l *logs) of(studyID int64) *studyLog {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.studies == nil {
		l.studies = make(map[int64]*studyLog)
	}
	if i := slices.Index(l.recent, studyID); i >= 0 {
		l.recent = slices.Delete(l.recent, i, i+1)
	} else if len(l.recent) == maxLogs {
		delete(l.studies, l.recent[0])
		l.recent = slices.Delete(l.recent, 0, 1)
	}
	l.recent = append(l.recent, studyID)
	log := l.studies[studyID]
	if log == nil {
		log = &studyLog{}
		l.studies[studyID] = log
	}
	return log
}

// studyLog is what holds now in the log of one study, as far as it was read.
type studyLog struct {
	mu    sync.Mutex
	last  int64 // newest row that was read
	now   map[int64]*held
	order []*held // now in the order of the chains; nil when it has to be made
}

// held is an entry that holds now, with what was read once it was understood.
type held struct {
	Entry
	read *quantity.Entry
}

// readOn takes in the rows that were added since.
func (l *studyLog) readOn(q querier, studyID int64) error {
	rows, err := entryRows(q, "t.study = ? AND t.id > ? ORDER BY t.id", studyID, l.last)
	if err != nil {
		return err
	}
	if l.now == nil {
		l.now = make(map[int64]*held)
	}
	for i := range rows {
		e := &rows[i]
		delete(l.now, e.Supersedes)
		if !e.Withdrawn {
			l.now[e.ID] = &held{Entry: *e}
		}
		l.last, l.order = e.ID, nil
	}
	return nil
}

// inOrder returns what holds now in the order in which the chains began.
func (l *studyLog) inOrder() []*held {
	if l.order == nil {
		l.order = make([]*held, 0, len(l.now))
		for _, h := range l.now {
			l.order = append(l.order, h)
		}
		slices.SortFunc(l.order, func(a, b *held) int { return int(a.First - b.First) })
	}
	return l.order
}

// quantity returns what was read, in memory of its own so that who gets it may
// change it. Of a step and a note it is nothing.
func (h *held) quantity() (quantity.Entry, error) {
	if h.Kind == Step || h.Kind == Note {
		return quantity.Entry{}, nil
	}
	if h.read == nil {
		e, err := h.Content.Quantity()
		if err != nil {
			return e, err
		}
		h.read = &e
	}
	out := *h.read
	out.Values = slices.Clone(out.Values)
	if out.Tol != nil {
		t := *out.Tol
		out.Tol = &t
	}
	return out, nil
}
