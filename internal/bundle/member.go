package bundle

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path"
	"time"
)

// member is one file to be packed. Its content can be read more than once.
type member struct {
	name string
	open func() (io.Reader, error)
}

// whole is a member whose content is in memory.
func whole(name string, content []byte) member {
	return member{name, func() (io.Reader, error) { return bytes.NewReader(content), nil }}
}

// entry hashes a member.
func (m member) entry() (Entry, error) {
	r, err := m.open()
	if err != nil {
		return Entry{}, fmt.Errorf("%s: %w", m.name, err)
	}
	defer closed(r)
	h := sha256.New()
	n, err := io.Copy(h, r)
	if err == nil && n > limitOf(m.name) {
		err = fmt.Errorf("it has more than %d bytes", limitOf(m.name))
	}
	if err != nil {
		return Entry{}, fmt.Errorf("%s: %w", m.name, err)
	}
	return Entry{m.name, n, hex.EncodeToString(h.Sum(nil))}, nil
}

// closed lets go of what was not read to its end.
func closed(r io.Reader) {
	if c, ok := r.(io.Closer); ok {
		c.Close()
	}
}

// packed holds for the files whose content is compressed already.
func (m member) method() uint16 {
	switch path.Ext(m.name) {
	case ".jpg", ".png", ".parquet":
		return zip.Store
	}
	return zip.Deflate
}

// epoch is the time that every file of a bundle has: the first that the archive
// can say.
var epoch = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// writeArchive writes the members in their order.
func writeArchive(w io.Writer, members []member) error {
	z := zip.NewWriter(w)
	for _, m := range members {
		if err := checkName(m.name); err != nil {
			return err
		}
		h := &zip.FileHeader{Name: m.name, Method: m.method(), Modified: epoch}
		h.SetMode(0o644)
		f, err := z.CreateHeader(h)
		if err != nil {
			return fmt.Errorf("%s: %w", m.name, err)
		}
		r, err := m.open()
		if err == nil {
			_, err = io.Copy(f, r)
			closed(r)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", m.name, err)
		}
	}
	return z.Close()
}
