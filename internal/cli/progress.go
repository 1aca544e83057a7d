package cli

import (
	"fmt"
	"io"
	"os"
	"time"
)

// progress shows how far long work has come, on a terminal only, and only once
// it has lasted a second.
type progress struct {
	w     io.Writer // nil: not a terminal
	what  string
	start time.Time
	shown bool
}

func newProgress(w io.Writer, what string) *progress {
	p := &progress{what: what, start: time.Now()}
	if isTerminal(w) {
		p.w = w
	}
	return p
}

func (p *progress) at(done, total int) {
	if p.w == nil || total == 0 || time.Since(p.start) < time.Second {
		return
	}
	p.shown = true
	fmt.Fprintf(p.w, "\r%s: %3.0f %%", p.what, 100*float64(done)/float64(total))
}

func (p *progress) end() {
	if p.shown {
		fmt.Fprint(p.w, "\r\033[K")
	}
}

// isTerminal tells whether w is a character device, such as a terminal.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
