package bundle

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// Bundle is an archive that was found harmless. Whether it is true is for
// Verify to say.
type Bundle struct {
	name     string
	files    map[string]*zip.File
	order    []string // names, sorted
	Manifest *Manifest
}

// RefusedError says why an archive is not read as a bundle.
type RefusedError struct {
	File string // the archive
	Err  error
}

// Error names the archive and the reason.
func (e *RefusedError) Error() string { return e.File + " is no bundle: " + e.Err.Error() }

// Unwrap returns the reason.
func (e *RefusedError) Unwrap() error { return e.Err }

// IsArchive tells whether a file begins like a zip archive.
func IsArchive(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4)
	_, err = io.ReadFull(f, head)
	return err == nil && (string(head) == localMark || string(head) == endMark)
}

// OpenFile opens the bundle in a file; close it when done.
func OpenFile(path string) (*Bundle, io.Closer, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = &RefusedError{path, errors.New("it is no regular file")}
	}
	var b *Bundle
	if err == nil {
		b, err = Open(path, f, info.Size())
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return b, f, nil
}

// Open reads the directory and the manifest of a bundle. name is what messages
// call it. An archive that is refused is a *RefusedError.
func Open(name string, r io.ReaderAt, size int64) (*Bundle, error) {
	b, err := open(name, r, size)
	if err != nil {
		return nil, &RefusedError{name, err}
	}
	return b, nil
}

func open(name string, r io.ReaderAt, size int64) (*Bundle, error) {
	if err := checkEnd(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, err
	}
	if len(z.File) > MaxFiles {
		return nil, fmt.Errorf("the archive holds more than %d files", MaxFiles)
	}
	b := &Bundle{name: name, files: map[string]*zip.File{}}
	total := uint64(0)
	for _, f := range z.File {
		if err := b.take(f); err != nil {
			return nil, err
		}
		if total += f.UncompressedSize64; total > MaxTotal {
			return nil, fmt.Errorf("its files have more than %d bytes together", int64(MaxTotal))
		}
	}
	if err := checkLayout(r, z.File); err != nil {
		return nil, err
	}
	slices.Sort(b.order)
	for _, n := range b.order {
		for at := range n {
			if n[at] == '/' && b.files[n[:at]] != nil {
				return nil, fmt.Errorf("%q is a file and a folder", n[:at])
			}
		}
	}
	text, err := b.Read(manifestName)
	if err != nil {
		return nil, err
	}
	b.Manifest, err = readManifest(text)
	return b, err
}

// take checks one entry of the directory.
func (b *Bundle) take(f *zip.File) error {
	name, folder := strings.CutSuffix(f.Name, "/")
	if err := checkName(name); err != nil {
		return err
	}
	if folder {
		if f.CompressedSize64 != 0 || f.UncompressedSize64 != 0 || !f.Mode().IsDir() {
			return fmt.Errorf("the folder %q holds bytes of its own", f.Name)
		}
		return nil
	}
	limit := limitOf(name)
	switch {
	case !f.Mode().IsRegular():
		return fmt.Errorf("%q is a link or a device, not a file", name)
	case f.Flags&1 != 0:
		return fmt.Errorf("%q is encrypted", name)
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return fmt.Errorf("%q is compressed by method %d; only deflate is read", name, f.Method)
	case f.UncompressedSize64 > uint64(limit):
		return fmt.Errorf("%q has more than %d bytes", name, limit)
	case f.UncompressedSize64 > MaxRatioFrom && f.UncompressedSize64/MaxRatio > f.CompressedSize64:
		return fmt.Errorf("%q unpacks to more than %d times its size", name, MaxRatio)
	case b.files[name] != nil:
		return fmt.Errorf("%q is there twice", name)
	}
	b.files[name] = f
	b.order = append(b.order, name)
	return nil
}

// limitOf is how many bytes a file may have, by its name.
func limitOf(name string) int64 {
	if strings.HasPrefix(name, tracesFolder) {
		return MaxOther
	}
	return MaxText
}

// Names lists the files of the bundle, sorted.
func (b *Bundle) Names() []string { return b.order }

// Read returns a file that is no trace, whole.
func (b *Bundle) Read(name string) ([]byte, error) {
	f := b.files[name]
	if f == nil {
		return nil, fmt.Errorf("%s is missing", name)
	}
	if f.UncompressedSize64 > MaxText {
		return nil, fmt.Errorf("%s has more than %d bytes", name, MaxText)
	}
	r, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	defer r.Close()
	// The library itself gives no more than the directory says, and checks the
	// sum; the limit here does not depend on that.
	text, err := io.ReadAll(io.LimitReader(r, MaxText+1))
	if err == nil && len(text) > MaxText {
		err = errors.New("it has more bytes than it says")
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return text, nil
}

// copyTo writes a file of any size to w.
func (b *Bundle) copyTo(w io.Writer, name string) (int64, error) {
	f := b.files[name]
	if f == nil {
		return 0, fmt.Errorf("%s is missing", name)
	}
	r, err := f.Open()
	if err != nil {
		return 0, fmt.Errorf("%s: %w", name, err)
	}
	defer r.Close()
	limit := limitOf(name)
	n, err := io.Copy(w, io.LimitReader(r, limit+1))
	if err == nil && n > limit {
		err = errors.New("it has more bytes than it says")
	}
	if err != nil {
		return n, fmt.Errorf("%s: %w", name, err)
	}
	return n, nil
}

// sum is the SHA-256 of a file, hexadecimal, and its size.
func (b *Bundle) sum(name string) (string, int64, error) {
	h := sha256.New()
	n, err := b.copyTo(h, name)
	return hex.EncodeToString(h.Sum(nil)), n, err
}

// Study reads the study's text.
func (b *Bundle) Study() (*study.Study, error) {
	text, err := b.Read(studyName)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", b.name, err)
	}
	s, _, err := studyfile.Read(b.name+": "+studyName, text)
	return s, err
}

// TrueStudy is Study, refused when its text is not the one that the manifest
// names.
func (b *Bundle) TrueStudy() (*study.Study, error) {
	sum, _, err := b.sum(studyName)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", b.name, err)
	}
	if e := b.Manifest.entry(studyName); e == nil || e.SHA256 != sum {
		return nil, fmt.Errorf("%s: %s was changed since it was packed; 'railtally verify %s' tells more", b.name, studyName, b.name)
	}
	return b.Study()
}
