package web

import (
	"context"
	"net/http"
	"sync"

	"railtally/internal/notebook"
)

// leavers tells the open streams of a device that it was sent away.
type leavers struct {
	mu   sync.Mutex
	gone map[int64]chan struct{} // by device; closed when it is sent away
}

// of returns a channel that is closed when the device is sent away.
func (l *leavers) of(device int64) <-chan struct{} {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.gone == nil {
		l.gone = map[int64]chan struct{}{}
	}
	if l.gone[device] == nil {
		l.gone[device] = make(chan struct{})
	}
	return l.gone[device]
}

// send ends the streams of a device.
func (l *leavers) send(device int64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if c := l.gone[device]; c != nil {
		close(c)
		delete(l.gone, device)
	}
}

// deviceOfRequest is the paired device that sent a request; ok is false for this
// computer itself.
func deviceOfRequest(r *http.Request) (d notebook.Device, ok bool) {
	d, ok = r.Context().Value(deviceKey{}).(notebook.Device)
	return d, ok
}

// stillIn tells whether a device may go on. Another program may have sent it
// away, which no channel tells.
func (s *Server) stillIn(ctx context.Context, device int64) bool {
	all, err := s.nb.Devices(ctx)
	if err != nil {
		return false
	}
	for _, d := range all {
		if d.ID == device {
			return d.Revoked.IsZero()
		}
	}
	return false
}
