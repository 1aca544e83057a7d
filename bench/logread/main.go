// Logread measures how long a log takes to read with the statistics of all its columns, and prints
// both as JSON. With -generate it writes the log instead. The script compare.sh beside it reads the
// same file with pandas and compares figures and times.
package main

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"syscall"
	"time"

	"railtally/internal/trace"
	"railtally/internal/trace/logfile"
)

func main() {
	generate := flag.String("generate", "", "write a log of this name and stop")
	rows := flag.Int("rows", 2_000_000, "rows to write")
	workers := flag.Int("workers", 0, "blocks parsed at the same time; 0 for one for each processor")
	flag.Parse()
	var err error
	if *generate != "" {
		err = write(*generate, *rows)
	} else {
		err = read(flag.Arg(0), *workers)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "logread:", err)
		os.Exit(1)
	}
}

// write makes a log of a time and three rails' voltages and currents; figures invented. 2 million rows
// are 113 MB.
func write(name string, rows int) (err error) {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer func() {
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}()
	w := bufio.NewWriterSize(f, 1<<20)
	io.WriteString(w, "Time (s),Core (V),Core (A),Memory (V),Memory (A),IO (V),IO (A)\n")
	rng := rand.New(rand.NewPCG(1, 2))
	level := [6]float64{0.9, 3.2, 1.1, 0.85, 3.3, 0.21}
	noise := [6]float64{0.002, 0.02, 0.001, 0.01, 0.003, 0.002}
	var line []byte
	for i := range rows {
		line = strconv.AppendFloat(line[:0], float64(i)/1000, 'f', 3, 64)
		load := 0.5 + 0.5*math.Sin(float64(i)/5000)
		for k := range level {
			x := level[k] + noise[k]*rng.NormFloat64()
			if k%2 == 1 {
				x *= 1 + 0.3*load
			}
			line = append(line, ',')
			line = strconv.AppendFloat(line, x, 'f', 5, 64)
		}
		line = append(line, '\n')
		w.Write(line)
	}
	return w.Flush()
}

type column struct {
	Name               string
	N                  int64
	Mean, SD, Min, Max float64
}

// times is a sink that adds up the statistics of the times, so that all seven columns have them.
type times struct{ m trace.Moments }

func (t *times) Take(b *logfile.Batch) error {
	t.m.Merge(trace.MomentsOf(b.Parts[0].T))
	return nil
}

func read(name string, workers int) error {
	start, cpu := time.Now(), processor()
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	d, r, err := logfile.Detect(f, logfile.Hints{})
	if err != nil {
		return err
	}
	var t times
	sum, err := logfile.Import(context.Background(), r, &d.Profile, logfile.Options{Workers: workers}, &t)
	if err != nil {
		return err
	}
	seconds, used := time.Since(start).Seconds(), processor()-cpu
	cols := []column{{"Time", t.m.N, t.m.Mean(), t.m.SD(), t.m.Min, t.m.Max}}
	for _, c := range sum.Channels {
		cols = append(cols, column{c.Name, c.N, c.Mean(), c.SD(), c.Min, c.Max})
	}
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	return json.NewEncoder(os.Stdout).Encode(map[string]any{
		"seconds": seconds, "cpu": used, "columns": cols, "heap_mb": float64(mem.Sys) / 1e6,
	})
}

// processor returns the seconds of processor time that the process has used.
func processor() float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return math.NaN()
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}
