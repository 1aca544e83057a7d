package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/study"
	"railtally/internal/trace/logfile"
)

// keepFlags say where a log is kept and what its channels are.
type keepFlags struct {
	study    string
	notebook string
	name     string
	as       []string
	again    bool
}

// keepLog takes a log into a study of the notebook and prints what became of it.
func keepLog(ctx context.Context, out, errOut io.Writer, file *os.File, f logFlags) error {
	nb, err := openNotebook(ctx, f.keep.notebook, true)
	if err != nil {
		return err
	}
	defer nb.Close()
	sum, err := nb.Find(ctx, f.keep.study)
	if err != nil {
		return hinted(err)
	}
	st, err := nb.Study(ctx, sum.ID)
	if err != nil {
		return hinted(err)
	}
	d, _, err := logfile.Detect(file, logfile.Hints{})
	if err != nil {
		return fmt.Errorf("%s: %w", file.Name(), err)
	}
	var roles map[string]notebook.ChannelRole
	known := false
	if f.profile != "" {
		err = readProfile(f.profile, &d.Profile)
	} else {
		roles, known, err = nb.Recall(ctx, &d.Profile)
	}
	if err != nil {
		return err
	}
	channels := notebook.LogChannels(&d.Profile)
	if !known {
		roles = notebook.ProposeRoles(st, channels)
	}
	if roles, err = rolesSaid(st, channels, roles, f.keep.as); err != nil {
		return err
	}
	p := newProgress(errOut, "keeping")
	defer p.end()
	kept, err := nb.KeepLog(ctx, sum.ID, notebook.Log{File: file, Name: filepath.Base(file.Name()), Profile: d.Profile, Title: f.keep.name,
		Roles: roles, Again: f.keep.again, Progress: sizeOf(file, p)}, notebook.Origin{Device: "command line"})
	p.end()
	var same *notebook.SameLog
	if errors.As(err, &same) {
		return fmt.Errorf("%w\n  --again keeps it once more", err)
	}
	if err != nil {
		return hinted(fmt.Errorf("%s: %w", file.Name(), err))
	}
	if f.json {
		return writeJSON(out, traceDocument(kept.Trace))
	}
	printKept(out, kept, known)
	return nil
}

// rolesSaid puts what --as says over what was remembered or guessed, and checks it against the study.
func rolesSaid(st *study.Study, channels []notebook.Channel, roles map[string]notebook.ChannelRole, as []string) (map[string]notebook.ChannelRole, error) {
	out := map[string]notebook.ChannelRole{}
	for name, r := range roles {
		out[name] = r
	}
	said := map[string]bool{}
	for _, text := range as {
		name, what, ok := strings.Cut(text, "=")
		r, clear, err := roleOf(what)
		if !ok || err != nil {
			return nil, usage{fmt.Errorf(`--as %q: accepted are "CHANNEL=voltage RAIL", "CHANNEL=current RAIL TAP", "CHANNEL=temperature NAME", "CHANNEL=throughput", "CHANNEL=nothing"`, text)}
		}
		said[name] = true
		if out[name] = r; clear {
			delete(out, name)
		}
	}
	var names []string
	for _, c := range channels {
		names = append(names, c.Name)
		r, ok := out[c.Name]
		if !ok {
			continue
		}
		if err := notebook.CheckRole(st, c, r); err != nil {
			if said[c.Name] {
				return nil, usage{err}
			}
			delete(out, c.Name) // remembered from another study
		}
	}
	for name, r := range out {
		for other, x := range out {
			switch {
			case other == name || x != r || !said[name]:
			case said[other]:
				return nil, usage{fmt.Errorf("--as: %q and %q cannot both be the %s", name, other, r.String())}
			default:
				delete(out, other) // guessed or remembered
			}
		}
	}
	for name := range said {
		if len(names) > 0 && !slices.Contains(names, name) {
			return nil, usage{fmt.Errorf("--as: no channel is called %q (accepted: %s)", name, strings.Join(names, ", "))}
		}
	}
	return out, nil
}

// roleOf reads what --as says of one channel. A name may hold blanks where it ends the text.
func roleOf(text string) (r notebook.ChannelRole, clear bool, err error) {
	what, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	rest = strings.TrimSpace(rest)
	r.Is = notebook.Kind(what)
	switch {
	case what == "nothing" && rest == "":
		return r, true, nil
	case what == "throughput" && rest == "":
	case what == "temperature" && rest != "":
		r.Name = rest
	case what == "voltage" && rest != "":
		r.Rail = rest
	case what == "current" && rest != "":
		r.Rail, r.Tap, _ = strings.Cut(rest, " ")
	default:
		return r, false, errors.New("no such role")
	}
	return r, false, nil
}

func printKept(w io.Writer, k *notebook.KeptLog, known bool) {
	x := k.Trace
	how := "kept"
	if k.Resumed {
		how = "finished what was begun"
	}
	fmt.Fprintf(w, "%s: %s as trace %d, %d rows, %d channels\n", x.File, how, x.ID, k.Summary.Rows, len(x.Channels))
	if known {
		fmt.Fprintln(w, "  Read as the last log of this kind was.")
	}
	printChannels(w, x)
	printTroubles(w, k.Summary)
}
