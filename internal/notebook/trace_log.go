package notebook

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"

	"railtally/internal/trace/logfile"
)

// startSize is how much of a log its Start is the SHA-256 of.
const startSize = 64 << 10

// A Log is a log that is to be kept. Its file is read from the beginning, up to three times.
type Log struct {
	File    io.ReadSeeker
	Name    string // of the file, without folders
	Profile logfile.Profile
	// Title is what the trace is called; empty: Name.
	Title string
	// Roles says what the channels are, by their names.
	Roles map[string]ChannelRole
	// Again keeps the log even though it is in the notebook already.
	Again bool
	// Workers and Progress as in logfile.Options.
	Workers  int
	Progress func(bytes, rows int64)

	flushAt int // bytes that gather before they are written; 0: flushSize
}

// SameLog refuses a log that is in the notebook already.
type SameLog struct{ Trace Trace }

// Error says where it is.
func (s *SameLog) Error() string {
	return fmt.Sprintf("this log is in the notebook already: trace %d, %q, imported %s", s.Trace.ID, s.Trace.Mapping.Name,
		s.Trace.Accepted.Format("2006-01-02 15:04 MST"))
}

// A KeptLog is a log that was taken into the notebook.
type KeptLog struct {
	Trace   Trace
	Summary *logfile.Summary
	Resumed bool // an import that was cut off was finished
}

// KeepLog takes a log into a study, in memory that does not depend on its size. The same log is
// noticed by its SHA-256 and refused with SameLog. When the import fails nothing of it is left; when the
// process dies in between, the next KeepLog of the same log, profile and study finishes what was begun.
func (nb *Notebook) KeepLog(ctx context.Context, studyID int64, l Log, o Origin) (*KeptLog, error) {
	settings, err := json.Marshal(l.Profile)
	if err != nil {
		return nil, err
	}
	h := TraceHead{Study: studyID, Source: FromLog, File: l.Name, Settings: string(settings)}
	if h.Size, err = l.File.Seek(0, io.SeekEnd); err != nil {
		return nil, err
	}
	if h.Start, err = digest(l.File, startSize); err != nil {
		return nil, err
	}
	w, err := nb.findLog(ctx, &l, h)
	if err != nil {
		return nil, err
	}
	spare, err := nb.takeRoom()
	if err != nil {
		return nil, err
	}
	defer spare.give()
	resumed := w != nil
	if w == nil {
		title := l.Title
		if title == "" {
			title = l.Name
		}
		if w, err = nb.BeginTrace(ctx, h, title, o); err != nil {
			return nil, err
		}
	}
	// Until its end nothing was told to be kept, so no flush needs to wait for the disk: Close waits for all of it.
	w.loose = true
	if l.flushAt > 0 {
		w.flushAt = l.flushAt
	}
	sum, err := nb.pour(ctx, w, &l)
	if err != nil {
		spare.give()
		// The context may be what ended it, and cleaning up must not end with it.
		if undo := w.Abandon(context.WithoutCancel(ctx), Origin{Why: "the import failed"}); undo != nil {
			return nil, errors.Join(err, fmt.Errorf("what was kept of it stays unfinished, import the log again to finish it: %w", undo))
		}
		return nil, fmt.Errorf("nothing of the log was kept: %w", err)
	}
	out := &KeptLog{Summary: sum, Resumed: resumed}
	if err := nb.rememberRoles(ctx, w.Trace(), &l, o); err != nil {
		return nil, err
	}
	out.Trace, err = nb.Trace(ctx, w.Trace())
	return out, err
}

// findLog looks for the same log: kept, or cut off.
func (nb *Notebook) findLog(ctx context.Context, l *Log, h TraceHead) (*TraceWriter, error) {
	like, err := nb.TracesOfLog(ctx, h.Size, h.Start)
	if err != nil || len(like) == 0 {
		return nil, err
	}
	sum := ""
	for _, x := range like {
		switch {
		case x.Outcome == Complete && !x.Mapping.Withdrawn && !l.Again:
			if sum == "" {
				if sum, err = digest(l.File, h.Size); err != nil {
					return nil, err
				}
			}
			if x.SHA256 == sum {
				return nil, &SameLog{Trace: x}
			}
		case x.Outcome == "" && x.Study == h.Study && x.Settings == h.Settings:
			return nb.ResumeLog(ctx, x.ID)
		}
	}
	return nil, nil
}

// digest returns the SHA-256 of the first n bytes of a file and leaves it at its beginning.
func digest(f io.ReadSeeker, n int64) (string, error) {
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return "", err
	}
	h := sha256.New()
	if _, err := io.Copy(h, io.LimitReader(f, n)); err != nil {
		return "", err
	}
	_, err := f.Seek(0, io.SeekStart)
	return hex.EncodeToString(h.Sum(nil)), err
}

// pour reads a log into a writer and ends the trace.
func (nb *Notebook) pour(ctx context.Context, w *TraceWriter, l *Log) (*logfile.Summary, error) {
	if _, err := l.File.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	all := &hashing{r: l.File, h: sha256.New()}
	sink := &funnel{ctx: ctx, w: w, shared: l.Profile.Layout != logfile.Long}
	sum, err := logfile.Import(ctx, all, &l.Profile, logfile.Options{Workers: l.Workers, Progress: l.Progress}, sink)
	if err != nil {
		return nil, err
	}
	if _, err := io.Copy(io.Discard, all); err != nil { // what stands behind the table
		return nil, err
	}
	end := TraceEnd{SHA256: hex.EncodeToString(all.h.Sum(nil)), Notes: sum.Notes, Zero: sum.Start, Zone: sum.ZoneKnown}
	return sum, w.Close(ctx, end)
}

// hashing takes the digest of what is read.
type hashing struct {
	r io.Reader
	h hash.Hash
}

func (x *hashing) Read(p []byte) (int, error) {
	n, err := x.r.Read(p)
	x.h.Write(p[:n])
	return n, err
}

// A funnel gives the samples of a log to a TraceWriter.
type funnel struct {
	ctx    context.Context
	w      *TraceWriter
	shared bool  // all channels have the same times
	clocks []int // of each channel
	v      [][]float64
}

// Take passes on one batch.
func (f *funnel) Take(b *logfile.Batch) error {
	for len(f.clocks) < len(b.Channels) {
		channels := []Channel{{Name: b.Channels[len(f.clocks)].Name, Unit: b.Channels[len(f.clocks)].Unit}}
		if f.shared {
			channels = apart(b.Channels)
		}
		k, err := f.w.AddClock(f.ctx, channels)
		if err != nil {
			return err
		}
		for range channels {
			f.clocks = append(f.clocks, k)
		}
	}
	if !f.shared {
		for _, p := range b.Parts {
			if err := f.w.Append(f.ctx, f.clocks[p.Channel], p.T, p.V); err != nil {
				return err
			}
		}
		return nil
	}
	f.v = f.v[:0]
	for _, p := range b.Parts {
		f.v = append(f.v, p.V)
	}
	return f.w.Append(f.ctx, f.clocks[0], b.Parts[0].T, f.v...)
}

// rememberRoles says what the channels are, and keeps the profile for the next log of its kind.
func (nb *Notebook) rememberRoles(ctx context.Context, id int64, l *Log, o Origin) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	var roles []ChannelRole
	for i, c := range x.Channels {
		if r, ok := l.Roles[c.Name]; ok {
			r.Channel = i
			roles = append(roles, r)
		}
	}
	if len(roles) > 0 {
		o.Key = ""
		if _, err := nb.MapTrace(ctx, x.Mapping.ID, x.Mapping.Name, x.Mapping.Note, roles, o); err != nil {
			return err
		}
	}
	return nb.rememberProfile(ctx, &l.Profile, l.Roles)
}
