package web

import (
	"os"
	"sync"
	"time"

	"railtally/internal/acquire"
)

// live holds the meters of this computer's bench. Their settings are read again
// whenever their file changes, so that the command line may change them too. A
// meter is asked for readings only while a page shows it or a reading is taken.
type live struct {
	path string

	mu       sync.Mutex
	seen     time.Time // when the file was last changed, as of the last look
	size     int64
	settings *acquire.Settings
	station  *acquire.Station
	taking   map[string]acquire.Taking // takes under way, by meter
}

func newLive(path string) *live {
	return &live{path: path, taking: map[string]acquire.Taking{}}
}

// now returns the meters as they are set at the moment. A station that was
// replaced goes on for those who still listen to it.
func (l *live) now() (*acquire.Station, *acquire.Settings, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var seen time.Time
	var size int64
	if st, err := os.Stat(l.path); err == nil {
		seen, size = st.ModTime(), st.Size()
	}
	if l.station != nil && seen.Equal(l.seen) && size == l.size {
		return l.station, l.settings, nil
	}
	settings, err := acquire.LoadSettings(l.path)
	if err != nil {
		return nil, nil, &problem{422, "The meters cannot be read", err.Error(), "Mend the file, or remove it and set the meters anew."}
	}
	station, err := acquire.NewStation(settings.Meters, acquire.Options{})
	if err != nil {
		return nil, nil, err
	}
	l.seen, l.size, l.settings, l.station = seen, size, settings, station
	return station, settings, nil
}

// change changes the settings and writes them.
func (l *live) change(how func(*acquire.Settings) error) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	settings, err := acquire.LoadSettings(l.path)
	if err != nil {
		return err
	}
	if err := how(settings); err != nil {
		return err
	}
	l.station = nil // looked at again
	return settings.Save(l.path)
}

// has tells that a meter is set, so that its digits can be shown.
func (l *live) has(name string) bool {
	_, settings, err := l.now()
	return err == nil && name != "" && settings.Meter(name) != nil
}

// took notes how far a take has come; done forgets it.
func (l *live) took(name string, t acquire.Taking) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.taking[name] = t
}

func (l *live) done(name string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.taking, name)
}

func (l *live) takingOf(name string) (acquire.Taking, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	t, ok := l.taking[name]
	return t, ok
}

// Station is the live meters that the pages show at the moment, for a program
// that records them while pages look on.
func (s *Server) Station() (*acquire.Station, error) {
	station, _, err := s.live.now()
	return station, err
}
