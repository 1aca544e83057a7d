package bundle

import (
	"slices"

	"railtally/internal/redact"
)

// Without leaves out of the contents what their author does not want to
// publish: of the study, and of what is written to photographs and traces. What
// is packed is searched for it once more, file by file.
func (c Contents) Without(o redact.Options) (Contents, *redact.Result, error) {
	r, err := redact.Study(c.Study, o)
	if err != nil {
		return c, nil, err
	}
	c.Study, c.Withheld, c.Find = r.Study, r.Kinds, r.Find
	c.Photos = slices.Clone(c.Photos)
	for i := range c.Photos {
		p := &c.Photos[i]
		p.Board, p.Step, p.Note = r.Text(p.Board), r.Text(p.Step), r.Note(p.Note)
		p.Pins = slices.Clone(p.Pins)
		for j := range p.Pins {
			x := &p.Pins[j]
			x.Rail, x.Tap, x.Point, x.Note = r.Text(x.Rail), r.Text(x.Tap), r.Text(x.Point), r.Note(x.Note)
		}
	}
	c.Traces = slices.Clone(c.Traces)
	for i := range c.Traces {
		t := &c.Traces[i]
		t.Name, t.Note = r.Text(t.Name), r.Note(t.Note)
		t.rename(r.Text)
		about := map[string]string{}
		for k, v := range t.About {
			about[k] = r.Text(v)
		}
		t.About = about
	}
	return c, r, nil
}
