package acquire

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Settings are the meters of one bench. They are kept in a file beside the
// notebook: an address is true on one computer only and no part of the record.
type Settings struct {
	Meters []Meter
}

// settingsFormat names the file's form.
const settingsFormat = "railtally meters 1"

type settingsFile struct {
	Format string  `json:"format"`
	Meters []Meter `json:"meters"`
}

// SettingsPath is where the meters of a notebook are kept: beside it.
func SettingsPath(notebook string) string {
	return strings.TrimSuffix(notebook, filepath.Ext(notebook)) + "-meters.json"
}

// LoadSettings reads a file; one that is not there holds no meters.
func LoadSettings(path string) (*Settings, error) {
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return &Settings{}, nil
	}
	if err != nil {
		return nil, err
	}
	s, err := parseSettings(raw)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

func parseSettings(raw []byte) (*Settings, error) {
	var f settingsFile
	dec := json.NewDecoder(strings.NewReader(string(raw)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return nil, err
	}
	if f.Format != settingsFormat {
		return nil, fmt.Errorf("format %q; %q is accepted", f.Format, settingsFormat)
	}
	s := &Settings{}
	for _, m := range f.Meters {
		if s.Meter(m.Name) != nil {
			return nil, fmt.Errorf("two meters are called %q", m.Name)
		}
		if err := m.Validate(); err != nil {
			return nil, err
		}
		s.Meters = append(s.Meters, m)
	}
	return s, nil
}

// Save writes the file whole or not at all.
func (s *Settings) Save(path string) (err error) {
	meters := s.Meters
	if meters == nil {
		meters = []Meter{}
	}
	raw, err := json.MarshalIndent(settingsFile{settingsFormat, meters}, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".railtally-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = fmt.Errorf("write %s: %w", path, err)
		}
	}()
	if _, err = f.Write(append(raw, '\n')); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// Meter returns the meter of that name, or nil.
func (s *Settings) Meter(name string) *Meter {
	for i := range s.Meters {
		if s.Meters[i].Name == name {
			return &s.Meters[i]
		}
	}
	return nil
}

// Put adds a meter, or replaces the one of its name.
func (s *Settings) Put(m Meter) error {
	if err := m.Validate(); err != nil {
		return err
	}
	if old := s.Meter(m.Name); old != nil {
		*old = m
		return nil
	}
	s.Meters = append(s.Meters, m)
	return nil
}

// Remove takes a meter out, and tells whether it was there.
func (s *Settings) Remove(name string) bool {
	n := len(s.Meters)
	s.Meters = slices.DeleteFunc(s.Meters, func(m Meter) bool { return m.Name == name })
	return len(s.Meters) < n
}
