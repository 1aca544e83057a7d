// Keeplog measures a full import of a log into a notebook: statistics of all columns, compressed chunks with
// outlines, synced to the disk. It prints the time, the processor time and the memory as JSON. The script
// compare.sh beside it sets it against pandas reading the same file.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/trace/logfile"
)

func main() {
	flag.Parse()
	if err := run(flag.Arg(0), flag.Arg(1)); err != nil {
		fmt.Fprintln(os.Stderr, "keeplog:", err)
		os.Exit(1)
	}
}

// run imports a log into a new notebook.
func run(log, file string) error {
	ctx := context.Background()
	nb, err := notebook.Open(ctx, file, notebook.Options{})
	if err != nil {
		return err
	}
	defer nb.Close()
	limit := quantity.Entry{Kind: quantity.Band, Values: []float64{0, 1}, Unit: quantity.Ampere}
	p, err := nb.NewStudy(ctx, &study.Study{Question: "how fast", Level: study.DefaultLevel, Boards: []*study.Board{{Name: "Otter",
		Rails: []*study.Rail{{Name: "core", Bound: &limit}}}}}, notebook.Origin{})
	if err != nil {
		return err
	}
	start, cpu := time.Now(), processor()
	f, err := os.Open(log)
	if err != nil {
		return err
	}
	defer f.Close()
	d, _, err := logfile.Detect(f, logfile.Hints{})
	if err != nil {
		return err
	}
	kept, err := nb.KeepLog(ctx, p.StudyID, notebook.Log{File: f, Name: filepath.Base(log), Profile: d.Profile}, notebook.Origin{})
	if err != nil {
		return err
	}
	seconds, used := time.Since(start).Seconds(), processor()-cpu
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return err
	}
	size := int64(0)
	for _, tail := range []string{"", "-wal"} {
		if st, err := os.Stat(file + tail); err == nil {
			size += st.Size()
		}
	}
	type column struct {
		Name               string
		N                  int64
		Mean, SD, Min, Max float64
	}
	var cols []column
	for i, c := range kept.Trace.Channels {
		m, err := nb.TraceStats(ctx, kept.Trace.ID, i, kept.Summary.First, kept.Summary.Last)
		if err != nil {
			return err
		}
		cols = append(cols, column{c.Name, m.N, m.Mean(), m.SD(), m.Min, m.Max})
	}
	return json.NewEncoder(os.Stdout).Encode(map[string]any{
		"seconds": seconds, "cpu": used, "columns": cols, "heap_mb": float64(mem.Sys) / 1e6, "peak_mb": float64(u.Maxrss) / 1e3,
		"notebook_mb": float64(size) / 1e6, "rows": kept.Summary.Rows,
	})
}

// processor returns the seconds of processor time that the process has used.
func processor() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}
