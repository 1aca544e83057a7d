package notebook

import (
	"os"
	"path/filepath"
)

// roomSize is how much room is kept free for giving up an import: removing samples needs some, and on a disk that
// is full there would be none. The file beside the notebook, which has to grow for that, is 4 MB.
const roomSize = 12 << 20

// room is a file that holds room on the disk until it is wanted. It has no name where the system allows that, so
// that a process that is killed leaves nothing behind.
type room struct {
	f    *os.File
	name string // empty: it has none
}

// takeRoom fails where there is too little room on the notebook's disk.
func (nb *Notebook) takeRoom() (*room, error) {
	f, err := os.CreateTemp(filepath.Dir(nb.path), tempPattern)
	if err != nil {
		return nil, explained("import the log", nb.path, err)
	}
	r := &room{f: f}
	if os.Remove(f.Name()) != nil {
		r.name = f.Name()
	}
	block := make([]byte, 1<<20)
	for range roomSize / len(block) {
		if _, err := f.Write(block); err != nil {
			r.give()
			return nil, explained("import the log", nb.path, err)
		}
	}
	return r, nil
}

// give gives the room back. It may be called more than once.
func (r *room) give() {
	if r.f == nil {
		return
	}
	_ = r.f.Close() // nothing in it is wanted
	if r.name != "" {
		_ = os.Remove(r.name)
	}
	r.f = nil
}
