package report

import (
	"railtally/internal/quantity"
	"railtally/internal/tally"
)

// headline is one of the few figures that a reader takes away.
type headline struct {
	Label, Where string
	Value, U     string
	Unit         string
	Href         string
	Verdict      *verdict
}

// verdict is one of the three words for a difference, with its mark.
type verdict struct {
	Text string
	Kind string // class: resolved, equal, open
}

func (a *assembler) verdict(d *tally.Difference) *verdict {
	v := &verdict{Text: name(a.tell(d.VerdictText())), Kind: "open"}
	switch d.Verdict {
	case tally.Resolved:
		v.Kind = "resolved"
	case tally.Equal:
		v.Kind = "equal"
	}
	return v
}

// headlines are the highest total of each board and the comparisons that
// answer the question.
func (a *assembler) headlines() []headline {
	var out []headline
	add := func(h headline, f tally.Figure) {
		c := a.newColumn(quantity.Watt, f)
		x := c.add(f)
		h.Value, h.U, h.Unit = x.Value, x.U, c.Symbol()
		out = append(out, h)
	}
	for _, b := range a.t.Boards {
		if s := tally.Fullest(b); s != nil {
			add(headline{Label: b.Name, Where: s.State.Name, Href: "#" + a.stateID(s)}, s.Total)
		}
	}
	for _, d := range a.t.Headlines() {
		first, second, shared := d.Names()
		add(headline{
			Label: a.lessText(first, second), Where: shared,
			Href: "#" + a.differenceID(d), Verdict: a.verdict(d),
		}, d.Difference)
	}
	return out
}

func (a *assembler) stateID(s *tally.State) string {
	return a.anchors.id(s.Board.Name, s.State.Name)
}

func (a *assembler) railID(s *tally.State, r *tally.Rail) string {
	return a.anchors.id(s.Board.Name, s.State.Name, r.Name)
}

func (a *assembler) differenceID(d *tally.Difference) string {
	return a.anchors.id(d.First.Board.Name, d.First.State.Name, "\x01against", d.Second.Board.Name, d.Second.State.Name)
}
