package study

import (
	"slices"
	"strconv"
	"time"
)

// Job is a step of the work at a board that is done by hand, from the untouched
// board to its sittings.
type Job string

// The jobs, in the order in which they are done.
const (
	JobBefore     Job = "input before opening"    // a sitting: the untouched board's input
	JobPhotograph Job = "photograph"              // both sides, before anything is opened
	JobOpen       Job = "open"                    // a rail, and close it through its loop
	JobPowerUp    Job = "power up"                // and see that the board works with that rail's loop
	JobClosed     Job = "input with loops closed" // a sitting: all loops closed, no clamp on
	JobKnownLoad  Job = "known load"              // a resistor of known value on a rail
	JobTurns      Job = "turns"                   // a rail with other turns, or another sensor
	JobSitting    Job = "sitting"                 // what the study is about
)

// Jobs lists them.
var Jobs = []Job{JobBefore, JobPhotograph, JobOpen, JobPowerUp, JobClosed, JobKnownLoad, JobTurns, JobSitting}

// OfRail tells whether a job is about one rail.
func (j Job) OfRail() bool {
	return j == JobOpen || j == JobPowerUp || j == JobKnownLoad || j == JobTurns
}

// Tick says that a job was done, or that it was passed over. What a job reads is
// recorded in sittings; a tick holds no reading.
type Tick struct {
	Board   string
	Job     Job
	Rail    string // of jobs about one rail
	State   string // of a known load: the state in which it is on
	Skipped bool
	On      time.Time // the clock on the wall; zero: not said
	By      string
	Note    string
}

// Same tells whether two ticks are about the same job.
func (t *Tick) Same(o *Tick) bool {
	return t.Board == o.Board && t.Job == o.Job && t.Rail == o.Rail && t.State == o.State
}

// done checks the ticks.
func (c *checker) done() {
	for i, t := range c.study.Done {
		p := path{"done", strconv.Itoa(i + 1)}
		b := c.study.Board(t.Board)
		switch {
		case b == nil:
			c.fault(p.with("board"), Accepting(t.Board, c.boardNames()), "no board called %q", t.Board)
		case !slices.Contains(Jobs, t.Job):
			c.fault(p.with("job"), Accepting(string(t.Job), words(Jobs)), "%q is not known here", string(t.Job))
		case t.Job.OfRail() && t.Rail == "":
			c.fault(p, "rail: and its name", "%q is done to a rail, and none is named", string(t.Job))
		case !t.Job.OfRail() && t.Rail != "":
			c.fault(p.with("rail"), "", "%q is about the whole board", string(t.Job))
		case t.Rail != "" && b.Rail(t.Rail) == nil:
			c.fault(p.with("rail"), "a rail of the board", "%s has no rail called %q", t.Board, t.Rail)
		case t.State != "" && t.Job != JobKnownLoad:
			c.fault(p.with("state"), "", "%q is done in no state of its own", string(t.Job))
		case t.State != "" && c.study.State(t.State) == nil:
			c.fault(p.with("state"), Accepting(t.State, c.stateNames()), "no state called %q", t.State)
		case slices.ContainsFunc(c.study.Done[:i], t.Same):
			c.fault(p, "each once", "it is ticked twice")
		}
	}
}
