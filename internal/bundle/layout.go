package bundle

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
)

// Signatures and sizes of the parts of a zip archive (PKWARE APPNOTE 6.3.10,
// 4.3.7, 4.3.16).
const (
	endSize       = 22
	endMark       = "PK\x05\x06"
	localSize     = 30
	localMark     = "PK\x03\x04"
	directorySize = 46 // of one file in the directory, without its name
)

// checkEnd looks at the end of an archive before its directory is read: that the
// directory is no larger than MaxFiles need, and stands right before the end.
// An archive may not begin behind something else, nor be longer than it says.
func checkEnd(r io.ReaderAt, size int64) error {
	switch {
	case size > MaxArchive:
		return fmt.Errorf("the archive has more than %d bytes", int64(MaxArchive))
	case size < endSize:
		return errors.New("it is too short for a zip archive")
	}
	end := make([]byte, endSize)
	if _, err := r.ReadAt(end, size-endSize); err != nil && err != io.EOF {
		return err
	}
	if !bytes.HasPrefix(end, []byte(endMark)) {
		return errors.New("it is no zip archive, or something stands behind the end of it")
	}
	le := binary.LittleEndian
	files, length, offset := int(le.Uint16(end[10:])), int64(le.Uint32(end[12:])), int64(le.Uint32(end[16:]))
	switch {
	case le.Uint16(end[4:]) != 0 || le.Uint16(end[6:]) != 0 || int(le.Uint16(end[8:])) != files:
		return errors.New("the archive is in several parts")
	case files > MaxFiles:
		return fmt.Errorf("the archive holds more than %d files", MaxFiles)
	case le.Uint16(end[20:]) != 0:
		return errors.New("the archive has a comment, which no bundle has")
	case length > int64(MaxFiles)*(directorySize+2*MaxName+64):
		return errors.New("the archive's directory is too large")
	case offset+length != size-endSize:
		return errors.New("the archive's directory does not stand where its end says")
	}
	return nil
}

// checkLayout makes sure that the files of an archive lie one behind the other,
// none within another, and that each carries at its place the name that the
// directory gives it. Otherwise programs that read archives from the front would
// unpack other files than those that are verified here, and few bytes could
// unpack to very many.
func checkLayout(r io.ReaderAt, files []*zip.File) error {
	type part struct {
		f    *zip.File
		data int64
	}
	parts := make([]part, len(files))
	for i, f := range files {
		at, err := f.DataOffset()
		if err != nil {
			return fmt.Errorf("%q: %w", f.Name, err)
		}
		parts[i] = part{f, at}
	}
	slices.SortStableFunc(parts, func(a, b part) int { return int(min(max(a.data-b.data, -1), 1)) })
	end := int64(0) // of what was seen so far
	for _, p := range parts {
		head := p.data - end
		if head < localSize || head > localSize+2*MaxName+256 {
			return fmt.Errorf("%q lies within another file, or behind a gap", p.f.Name)
		}
		between := make([]byte, head)
		if _, err := r.ReadAt(between, end); err != nil {
			return err
		}
		if !headerOf(between, p.f.Name) {
			return fmt.Errorf("%q has another name at its place in the archive", p.f.Name)
		}
		if p.f.CompressedSize64 > MaxArchive {
			return fmt.Errorf("%q is larger than the archive", p.f.Name)
		}
		end = p.data + int64(p.f.CompressedSize64)
	}
	return nil
}

// headerOf tells whether what stands before a file's data is its header, behind
// nothing or behind the sizes of the file before (4.3.9: 12 or 16 bytes).
func headerOf(b []byte, name string) bool {
	for _, skip := range []int{0, 12, 16} {
		h := b[min(skip, len(b)):]
		if len(h) < localSize || !bytes.HasPrefix(h, []byte(localMark)) {
			continue
		}
		n, extra := int(binary.LittleEndian.Uint16(h[26:])), int(binary.LittleEndian.Uint16(h[28:]))
		if localSize+n+extra == len(h) && string(h[localSize:localSize+n]) == name {
			return true
		}
	}
	return false
}
