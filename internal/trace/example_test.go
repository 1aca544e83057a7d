package trace_test

import (
	"context"
	"fmt"
	"log"
	"strings"

	"railtally/internal/trace"
	"railtally/internal/trace/logfile"
)

// A log is detected, imported, cut into its states, and a reading is taken of each.
func Example() {
	var text strings.Builder
	text.WriteString("Time (s);Core (V);Core (mA)\n")
	for i := range 240 {
		volts, milliamperes := 0.9, 310+float64(i*7%5)
		if i >= 120 {
			volts, milliamperes = 0.894, 820+float64(i*7%5)
		}
		fmt.Fprintf(&text, "%d;%.4f;%.1f\n", i, volts, milliamperes)
	}
	d, r, err := logfile.Detect(strings.NewReader(text.String()), logfile.Hints{})
	if err != nil {
		log.Fatal(err)
	}
	loaded, err := logfile.Load(context.Background(), r, &d.Profile, logfile.Options{})
	if err != nil {
		log.Fatal(err)
	}
	current := loaded.Series[1]
	stretches, _, err := trace.Windows(current, trace.WindowOptions{})
	if err != nil {
		log.Fatal(err)
	}
	for _, s := range stretches {
		w, err := current.Window(s.Window.From, s.Window.To)
		if err != nil {
			log.Fatal(err)
		}
		stats, err := trace.Summarise(w)
		if err != nil {
			log.Fatal(err)
		}
		reading := stats.Reading()
		fmt.Printf("%s from %g s: %.4f A of %d samples\n", s.Kind, s.Window.From, reading.Mean, reading.N)
	}
	// Output:
	// steady from 2 s: 0.3120 A of 116 samples
	// steady from 122 s: 0.8220 A of 116 samples
}
