package bundle

import (
	"encoding/json"
	"fmt"
	"io"
)

// maxPhoto is how many bytes a photograph may have that is read, and maxPhotos
// all of a bundle together.
const (
	maxPhoto  = 32 << 20
	maxPhotos = 512 << 20
)

// Contents gathers what a bundle was packed from, so that it can be packed
// again: shortened, say. The bundle must stay open until then.
func (b *Bundle) Contents() (c Contents, err error) {
	if c.Study, err = b.TrueStudy(); err != nil {
		return c, err
	}
	c.Program, c.Page, c.Withheld = b.Manifest.Program, b.Manifest.Page, b.Manifest.Withheld
	if c.Photos, err = b.photos(); err != nil {
		return c, fmt.Errorf("%s: %w", b.name, err)
	}
	var traces struct{ Traces []Trace }
	if err := b.list(tracesName, &traces); err != nil {
		return c, fmt.Errorf("%s: %w", b.name, err)
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

// list reads the list of photographs or traces, where there is one.
func (b *Bundle) list(name string, into any) error {
	if b.files[name] == nil {
		return nil
	}
	text, err := b.Read(name)
	if err == nil {
		err = json.Unmarshal(text, into)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// photos reads the photographs.
func (b *Bundle) photos() ([]Photo, error) {
	var list struct{ Photos []Photo }
	if err := b.list(photosName, &list); err != nil {
		return nil, err
	}
	total := uint64(0)
	for i := range list.Photos {
		p := &list.Photos[i]
		f := b.files[p.File]
		if f == nil {
			return nil, fmt.Errorf("%s is missing", p.File)
		}
		if total += f.UncompressedSize64; f.UncompressedSize64 > maxPhoto || total > maxPhotos {
			return nil, fmt.Errorf("%s has more than %d bytes, or all photographs more than %d", p.File, maxPhoto, maxPhotos)
		}
		var err error
		if p.Bytes, err = b.Read(p.File); err != nil {
			return nil, err
		}
	}
	return list.Photos, nil
}
