package notebook

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"

	"railtally/internal/quantity"
	"railtally/internal/trace/logfile"
	"railtally/internal/trace/packed"
)

// logText is a log of two channels.
func logText(rows int) string {
	rng := rand.New(rand.NewPCG(8, 8))
	var b strings.Builder
	b.WriteString("Time (s),link (V),link clamp (mV)\n")
	for i := range rows {
		fmt.Fprintf(&b, "%.3f,%.4f,%.2f\n", float64(i)/1000, 0.9+0.001*rng.NormFloat64(), 412+rng.NormFloat64())
	}
	return b.String()
}

func aLog(t testing.TB, text string) Log {
	t.Helper()
	d, _, err := logfile.Detect(strings.NewReader(text), logfile.Hints{})
	if err != nil {
		t.Fatal(err)
	}
	return Log{File: strings.NewReader(text), Name: "run.csv", Profile: d.Profile}
}

// TestKeepLog: a log is kept, its kind is remembered, and the same log is noticed.
func TestKeepLog(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	p := must[*Plan](t)(nb.NewStudy(ctx, otter(t), Origin{}))
	text := logText(3000)
	l := aLog(t, text)
	l.Roles = ProposeRoles(otter(t), []Channel{{Name: "link", Unit: quantity.Volt}, {Name: "link clamp", Unit: quantity.Volt}})
	if len(l.Roles) != 2 || l.Roles["link"] != (ChannelRole{Is: Voltage, Rail: "link"}) || l.Roles["link clamp"].Is != Current {
		t.Errorf("proposed: %+v", l.Roles)
	}
	l.Profile.Columns[2].Name = "link clamp"
	kept := must[*KeptLog](t)(nb.KeepLog(ctx, p.StudyID, l, Origin{}))
	x := kept.Trace
	if x.Outcome != Complete || x.Samples[0] != 3000 || len(x.Mapping.Roles) != 2 || x.Size != int64(len(text)) || kept.Resumed {
		t.Errorf("%+v", x)
	}
	st := must[TraceStats](t)(nb.TraceStats(ctx, x.ID, 1, 0, 10))
	if st.Mean() != kept.Summary.Channels[1].Mean() || st.SD() != kept.Summary.Channels[1].SD() {
		t.Errorf("statistics %v, the import says %v", st.Mean(), kept.Summary.Channels[1].Mean())
	}
	var same *SameLog
	if _, err := nb.KeepLog(ctx, p.StudyID, aLog(t, text), Origin{}); !errors.As(err, &same) || same.Trace.ID != x.ID {
		t.Errorf("the same log was not noticed: %v", err)
	}
	changed := text[:len(text)-3] + "9" + text[len(text)-2:] // of the same length and beginning
	must[*KeptLog](t)(nb.KeepLog(ctx, p.StudyID, aLog(t, changed), Origin{}))
	d, _, err := logfile.Detect(strings.NewReader(logText(50)), logfile.Hints{})
	if err != nil {
		t.Fatal(err)
	}
	roles, known, err := nb.Recall(ctx, &d.Profile)
	if err != nil || !known {
		t.Errorf("the kind was not remembered: %v %v", roles, err)
	}

	var csv, parquet bytes.Buffer
	if err := nb.ExportCSV(ctx, &csv, x.ID, 0); err != nil {
		t.Fatal(err)
	}
	back, err := logfile.Load(ctx, strings.NewReader(csv.String()), must[*logfile.Profile](t)(profileOf(csv.String())), logfile.Options{})
	if err != nil || back.Summary.Channels[1].Moments != kept.Summary.Channels[1].Moments {
		t.Errorf("the exported text reads otherwise: %v", err)
	}
	if err := nb.ExportParquet(ctx, &parquet, x.ID, 0); err != nil {
		t.Fatal(err)
	}
	parquetAgrees(t, parquet.Bytes(), back)
	sound(t, nb)
}

// TestChannelNames: columns that only their units tell apart are channels of two names.
func TestChannelNames(t *testing.T) {
	t.Parallel()
	p := must[*logfile.Profile](t)(profileOf("Time (s),Core (V),Core (A),IO (V),IO (V)\n0,1,2,3,4\n1,1,2,3,4\n2,1,2,3,4\n"))
	var names []string
	for _, c := range LogChannels(p) {
		names = append(names, c.Name)
	}
	if got := strings.Join(names, "|"); got != "Core V|Core A|IO V|IO V 2" {
		t.Errorf("channels %q", got)
	}
}

func profileOf(text string) (*logfile.Profile, error) {
	d, _, err := logfile.Detect(strings.NewReader(text), logfile.Hints{})
	if err != nil {
		return nil, err
	}
	return &d.Profile, nil
}

// failing is a log whose disk fails after some bytes.
type failing struct {
	*strings.Reader
	good int64
}

func (f *failing) Read(p []byte) (int, error) {
	at := f.Size() - int64(f.Len())
	if at >= f.good {
		return 0, errors.New("the stick was pulled out")
	}
	return f.Reader.Read(p[:min(int64(len(p)), f.good-at)])
}

// TestKeepLogFails: whatever ends an import, nothing of it is left and what was there before is whole.
func TestKeepLogFails(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	_, sitting, step := atBench(t, nb)
	must[Ack](t)(nb.Append(ctx, Draft{Sitting: sitting, Content: link(step, "118 mV")}))
	text := logText(4 * packed.ChunkSize)
	for name, prepare := range map[string]func(*Log) (context.Context, func()){
		"the file fails": func(l *Log) (context.Context, func()) {
			l.File = &failing{strings.NewReader(text), int64(len(text) / 2)}
			return ctx, func() {}
		},
		"it is stopped": func(l *Log) (context.Context, func()) {
			stopped, stop := context.WithCancel(ctx)
			l.Progress = func(_, rows int64) {
				if rows > packed.ChunkSize {
					stop()
				}
			}
			return stopped, stop
		},
		"the disk is full": func(*Log) (context.Context, func()) {
			pages := must[[]string](t)(column(nb, "PRAGMA page_count"))
			if _, err := nb.w.Exec("PRAGMA max_page_count = " + pages[0]); err != nil {
				t.Fatal(err)
			}
			return ctx, func() {
				if _, err := nb.w.Exec("PRAGMA max_page_count = 1000000000"); err != nil {
					t.Fatal(err)
				}
			}
		},
	} {
		l := aLog(t, text)
		c, after := prepare(&l)
		kept, err := nb.KeepLog(c, 1, l, Origin{})
		after()
		if err == nil {
			t.Fatalf("%s: kept %+v", name, kept.Trace)
		}
		if name == "the disk is full" && CodeOf(err) != Full {
			t.Errorf("%s: %v", name, err)
		}
		if n := must[[]string](t)(column(nb, "SELECT count(*) FROM chunk")); n[0] != "0" {
			t.Errorf("%s: %s chunks are left", name, n[0])
		}
		sound(t, nb)
	}
	for name, text := range map[string]string{"empty": "", "no log": string([]byte{0, 1, 2, 0xff, 0, 3}), "cut": logText(100)[:1990]} {
		d, _, err := logfile.Detect(strings.NewReader(text), logfile.Hints{})
		if err != nil {
			continue // refused before anything is kept
		}
		kept, err := nb.KeepLog(ctx, 1, Log{File: strings.NewReader(text), Name: name, Profile: d.Profile}, Origin{})
		if name != "cut" || err != nil || !kept.Summary.Cut {
			t.Errorf("%s: %+v %v", name, kept, err)
		}
	}
	if r := must[*Record](t)(nb.Record(ctx, 1)); len(r.Entries) != 2 {
		t.Errorf("%d entries", len(r.Entries))
	}
}

// halfKept begins an import and leaves it unfinished, as a killed process does.
func halfKept(ctx context.Context, file, text string) error {
	nb, err := Open(ctx, file, Options{})
	if err != nil {
		return err
	}
	d, _, err := logfile.Detect(strings.NewReader(text), logfile.Hints{})
	if err != nil {
		return err
	}
	l := Log{File: strings.NewReader(text), Name: "run.csv", Profile: d.Profile, flushAt: 1}
	l.Progress = func(_, rows int64) {
		if rows > 3*packed.ChunkSize {
			for n := 0; n < 6; time.Sleep(time.Millisecond) { // chunks are written in the background
				if nb.r.QueryRow("SELECT count(*) FROM chunk").Scan(&n) != nil {
					return
				}
			}
			fmt.Println("half")
			select {} // until killed
		}
	}
	_, err = nb.KeepLog(ctx, 1, l, Origin{})
	return err
}

// TestKeepLogKilled: an import whose process is killed is finished by the next one of the same log.
func TestKeepLogKilled(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	must[*Plan](t)(nb.NewStudy(ctx, otter(t), Origin{}))
	c := child(t, "keep log", nb.Path())
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadFull(out, make([]byte, 4)); err != nil {
		t.Fatal(err)
	}
	if err := c.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	c.Wait()
	sound(t, nb)
	list := must[[]Trace](t)(nb.Traces(ctx, 1))
	if len(list) != 1 || list[0].Outcome != "" {
		t.Fatalf("%+v", list)
	}
	if n := must[[]string](t)(column(nb, "SELECT count(*) > 3 FROM chunk")); n[0] != "1" {
		t.Error("the process left hardly anything, so the test says little")
	}
	kept := must[*KeptLog](t)(nb.KeepLog(ctx, 1, aLog(t, logText(4*packed.ChunkSize)), Origin{}))
	if !kept.Resumed || kept.Trace.ID != list[0].ID || kept.Trace.Samples[0] != 4*packed.ChunkSize || kept.Trace.Outcome != Complete {
		t.Errorf("%+v", kept.Trace)
	}
	if st := must[TraceStats](t)(nb.TraceStats(ctx, kept.Trace.ID, 0, 0, 1e9)); st.Moments != kept.Summary.Channels[0].Moments {
		if st.N != kept.Summary.Channels[0].N || st.Mean() != kept.Summary.Channels[0].Mean() {
			t.Errorf("%+v, the log says %+v", st.Moments, kept.Summary.Channels[0].Moments)
		}
	}
	sound(t, nb)
}

// parquetAgrees reads a Parquet file with the library's own reader.
func parquetAgrees(t *testing.T, file []byte, want *logfile.Log) {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, c := range f.Root().Columns() {
		names = append(names, c.Name())
	}
	if strings.Join(names, "|") != "time (s)|link (V)|link clamp (V)" {
		t.Errorf("columns %q", names)
	}
	rows := parquet.NewReader(f)
	defer rows.Close()
	one := make([]parquet.Row, 1)
	for i := range want.Series[0].T {
		if n, err := rows.ReadRows(one); n != 1 || one[0][0].Double() != want.Series[0].T[i] || one[0][2].Double() != want.Series[1].V[i] {
			t.Fatalf("row %d: %v %v", i, one[0], err)
		}
	}
}
