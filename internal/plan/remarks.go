package plan

import (
	"slices"

	"railtally/internal/quantity"
)

// BoardRemark is a remark on the openings of a board, with the rails it is about.
// Its figures are those of the first.
type BoardRemark struct {
	Remark
	Rails []string
}

// About names the rails: "core (so too link and pll)".
func (r BoardRemark) About() string {
	if len(r.Rails) > 1 {
		return r.Rails[0] + " (so too " + quantity.Join(r.Rails[1:]) + ")"
	}
	return r.Rails[0]
}

// Remarks gathers what is to be said of a board's openings, worst first. What is
// merely asked or noted is told once for all rails that it is about, unless all
// is asked for; only then does what is sound come too.
func (b *Board) Remarks(all bool) (out []BoardRemark) {
	for _, g := range []Grade{Wrong, Doubtful, Ask, Note, Sound} {
		if g == Sound && !all {
			continue
		}
		from := len(out)
		for _, r := range b.Rails {
			for _, o := range r.Openings {
				for _, k := range o.Remarks {
					if k.Grade != g {
						continue
					}
					i := slices.IndexFunc(out[from:], func(l BoardRemark) bool { return l.Code == k.Code && l.Do == k.Do })
					switch {
					case i >= 0 && slices.ContainsFunc(out[from:], func(l BoardRemark) bool { return l.Rails[0] == r.Name && l.Text == k.Text }):
						// Told of another phase of the rail.
					case i < 0 || all || g == Wrong || g == Doubtful:
						out = append(out, BoardRemark{k, []string{r.Name}})
					case !slices.Contains(out[from+i].Rails, r.Name):
						out[from+i].Rails = append(out[from+i].Rails, r.Name)
					}
				}
			}
		}
	}
	return out
}
