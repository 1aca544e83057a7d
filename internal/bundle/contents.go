package bundle

import (
	"encoding/json"
	"fmt"
	"io"
)

// maxPhoto is how many bytes a photograph may have that is packed again.
const maxPhoto = 32 << 20

// Contents gathers what a bundle was packed from, so that it can be packed
// again: shortened, say. The bundle must stay open until then.
func (b *Bundle) Contents() (c Contents, err error) {
	if c.Study, err = b.TrueStudy(); err != nil {
		return c, err
	}
	c.Program, c.Withheld = b.Manifest.Program, b.Manifest.Withheld
	var photos struct{ Photos []Photo }
	var traces struct{ Traces []Trace }
	for name, list := range map[string]any{photosName: &photos, tracesName: &traces} {
		if b.files[name] == nil {
			continue
		}
		text, err := b.Read(name)
		if err == nil {
			err = json.Unmarshal(text, list)
		}
		if err != nil {
			return c, fmt.Errorf("%s: %s: %w", b.name, name, err)
		}
	}
	for _, p := range photos.Photos {
		if f := b.files[p.File]; f != nil && f.UncompressedSize64 > maxPhoto {
			return c, fmt.Errorf("%s: %s has more than %d bytes", b.name, p.File, maxPhoto)
		}
		if p.Bytes, err = b.Read(p.File); err != nil {
			return c, fmt.Errorf("%s: %w", b.name, err)
		}
		c.Photos = append(c.Photos, p)
	}
	for _, t := range traces.Traces {
		f := b.files[t.File]
		if f == nil {
			return c, fmt.Errorf("%s: %s is missing", b.name, t.File)
		}
		t.Open = func() (io.Reader, error) {
			r, err := f.Open()
			if err != nil {
				return nil, err
			}
			return io.LimitReader(r, MaxOther), nil
		}
		c.Traces = append(c.Traces, t)
	}
	return c, nil
}
