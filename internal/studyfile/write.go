package studyfile

import (
	"errors"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// Write writes the canonical text of a study that Check finds sound. Reading it
// gives the same study again: quantities stand as they were typed where that
// text still says the same, and are written anew where it does not.
func Write(w io.Writer, s *study.Study) error {
	root := studyOut(s)
	if !root.valid() {
		return errors.New("write study: a text in it is not UTF-8")
	}
	var b strings.Builder
	for i, key := range root.keys {
		section := &out{kind: mapping}
		section.put(key, root.items[i])
		if i > 0 && root.items[i].kind != scalar {
			b.WriteByte('\n')
		}
		section.blockText(&b, 0, false)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func newMap() *out   { return &out{kind: mapping} }
func newBlock() *out { return &out{kind: mapping, block: true} }

// studyOut lays out the whole file.
func studyOut(s *study.Study) *out {
	root := newBlock()
	root.say("study", s.Question)
	root.say("note", s.Note)
	root.say("words", s.Words)
	if s.Level != study.DefaultLevel {
		root.say("level", percentText(s.Level))
	}
	root.put("equal within", optional(s.EqualWithin))
	root.put("stale zero", optional(s.StaleZero))
	root.put("sitting effect", carriedOut(s.SittingEffect))
	root.put("decision rule", ruleOut(s.Rule))

	instruments := newBlock()
	for _, in := range s.Instruments {
		instruments.put(in.Name, instrumentOut(in))
	}
	root.put("instruments", instruments.orNil())

	if !reflect.DeepEqual(s.Factors, factorsOf(s.States)) {
		factors := newBlock()
		for _, f := range s.Factors {
			factors.put(f.Name, factorOut(f))
		}
		root.put("factors", factors.orNil())
	}
	interactions := &out{kind: list, block: true}
	for _, x := range s.Interactions {
		factors := &out{kind: list}
		for _, name := range x.Factors() {
			factors.add(text(name))
		}
		interactions.add(factors)
	}
	root.put("interactions", interactions.orNil())
	boards := newBlock()
	for _, b := range s.Boards {
		boards.put(b.Name, boardOut(s, b))
	}
	root.put("boards", boards.orNil())

	states := newBlock()
	for _, st := range s.States {
		o := newMap()
		for _, l := range st.Levels {
			o.put(l.Factor, text(l.Value))
		}
		if l := st.Cycle; l != nil {
			o.put("repeats every", entryOut(&l.Period))
			swings := newMap()
			for i := range l.Swings {
				swings.put(l.Swings[i].Rail, entryOut(&l.Swings[i].Amps))
			}
			o.put("swings", swings.orNil())
		}
		o.say("note", st.Note)
		states.put(st.Name, o)
	}
	root.put("states", states.orNil())

	compare := &out{kind: list, block: true}
	for _, c := range s.Comparisons {
		compare.add(comparisonOut(s, c))
	}
	root.put("compare", compare.orNil())
	root.put("claims", claimsOut(s))
	root.put("aims", aimsOut(s))
	root.put("expected", expectedOut(s))
	root.put("work", workOut(s.Work))
	root.put("order", orderOut(s))
	root.put("both ways", bothWaysOut(s))
	root.put("proofs", proofsOut(s))
	root.put("cooling", coolingsOut(s))
	root.put("done", doneOut(s))
	sittingsOut(root, s)
	return root
}

func factorOut(f *study.Factor) *out {
	levels := &out{kind: list}
	for _, l := range f.Levels {
		levels.add(text(l))
	}
	if strings.TrimSpace(f.Note) == "" {
		return levels
	}
	o := newMap()
	o.put("levels", levels)
	o.say("note", f.Note)
	return o
}

// comparisonOut writes the text form, or the map form where the text could be
// understood in another way.
func comparisonOut(s *study.Study, c study.Comparison) *out {
	t := c.First.String() + " against " + c.Second.String()
	if found := comparisonsIn(s, t); len(found) == 1 && found[0] == c {
		return text(t)
	}
	o := newMap()
	for i, x := range []study.StateOn{c.First, c.Second} {
		o.put([]string{"first", "against"}[i], stateOnMap(x))
	}
	return o
}

// stateOnMap is the map form of a state of a board.
func stateOnMap(x study.StateOn) *out {
	o := newMap()
	o.say("board", x.Board)
	o.say("state", x.State)
	return o
}

// entryText is a quantity as it was typed, or written anew.
func entryText(e *quantity.Entry) string {
	if e.Text != "" {
		if again, err := quantity.Parse(e.Text, e.Unit, ""); err == nil && reflect.DeepEqual(again, *e) {
			return e.Text
		}
	}
	return e.String()
}

func entryOut(e *quantity.Entry) *out { return text(entryText(e)) }

// optional is a quantity that may be absent.
func optional(e *quantity.Entry) *out {
	if e == nil {
		return nil
	}
	return entryOut(e)
}

// amountText writes a plain number of a unit, with all its digits and the
// prefix that suits it.
func amountText(x float64, u quantity.Unit) string {
	t := quantity.Format(x, u, digits(x))
	if again, err := quantity.Value(t, u, ""); err == nil && again == x {
		return t
	}
	return quantity.Entry{Values: []float64{x}, Unit: u}.String()
}

// percentText writes a ratio in percent so that it reads back exactly.
func percentText(x float64) string { return quantity.FormatPercent(x, digits(x)) }

// digits counts the digits that a number needs to be told from every other.
func digits(x float64) int {
	mantissa, _, _ := strings.Cut(strconv.FormatFloat(math.Abs(x), 'e', -1, 64), "e")
	return len(strings.ReplaceAll(mantissa, ".", ""))
}
