package web

import (
	"maps"
	"slices"
	"strconv"

	"railtally/internal/study"
)

// planStep is one thing that a plan needs before work at the bench begins.
type planStep struct {
	Name, Text   string
	Done         bool
	Next         bool // the first that is not done
	Path, Action string
}

// stepsOf lists what a plan needs, in the order in which it is easiest to give:
// rails are read by instruments, and states are read on rails. It returns nil
// when all is there.
func stepsOf(id int64, p *study.Study) []planStep {
	steps := []planStep{
		{Name: "Instruments", Text: "the clamps, shunts, meters and thermometers that are used, each with its accuracy",
			Done: len(p.Instruments) > 0, Path: newInstrumentFor(id), Action: "Add an instrument"},
		{Name: "Board", Text: "the board that carries the chip", Done: len(p.Boards) > 0, Path: at("studies", id, "plan") + "#plan-boards", Action: "Name the board"},
		{Name: "Rails", Text: "every supply that enters the chip, and how its current is read"},
		{Name: "States", Text: "what the board does while it is read: idle, copying, …", Done: len(p.States) > 0, Path: at("studies", id, "plan", "states"), Action: "Name the states"},
	}
	rails := &steps[2]
	rails.Done = len(p.Boards) > 0
	for _, b := range p.Boards {
		if len(b.Rails) == 0 {
			rails.Done = false
			if rails.Path == "" {
				rails.Path, rails.Action = at("studies", id, "plan", "boards", b.Name, "rails", newRail), "Add the rails of "+b.Name
			}
		}
	}
	for i := range steps {
		if !steps[i].Done {
			steps[i].Next = true
			return steps
		}
	}
	return nil
}

// newInstrumentFor is where an instrument is described that a study's plan then
// has too.
func newInstrumentFor(id int64) string {
	return "/instruments/new?study=" + strconv.FormatInt(id, 10)
}

// differ tells whether two definitions of an instrument say something different.
func differ(a, b *study.Instrument) (bool, error) {
	x, err := instrumentValues(a)
	if err != nil {
		return false, err
	}
	y, err := instrumentValues(b)
	return !maps.EqualFunc(x, y, slices.Equal), err
}
