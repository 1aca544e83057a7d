package tally

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/study"
)

// A load of 1 A, and of 3 A for 0.8 s of every 2 s, is 1.8 A on average. A meter
// that averages over 0.8 s shows anything from 1 A to 3 A, by the moment of its
// reading, each worked out by adding up the load moment by moment. Whatever it
// shows, the interval holds the truth, and the error that is told is the largest.
func TestUnfinishedPeriod(t *testing.T) {
	const period, on, window = 2000, 800, 800 // ms
	worst, told := 0.0, 0.0
	for begin := 0; begin < period; begin += 100 {
		sum := 0.0
		for i := range window {
			x := 1.0
			if (begin+i)%period < on {
				x = 3
			}
			sum += x
		}
		shown := sum / window
		worst = math.Max(worst, math.Abs(shown-1.8))
		for _, swing := range []bool{true, false} {
			b := newBench(t, "±0.0001 %")
			b.States[0].Cycle = &study.Cycle{Period: *b.entry("2 s", quantity.Second)}
			if swing {
				b.States[0].Cycle.Swings = []study.Swing{{Rail: "core", Amps: *b.entry("1..3 A", quantity.Ampere)}}
			}
			b.Instruments[1].Ranges[0].Averages = b.entry("0.8 s", quantity.Second)
			b.board("one", "core at 1 V")
			b.sitting("s", "one", map[string][]string{"bare": {fmt.Sprintf("core: %.7f V, 1.0000000 V", shown)}})
			ta := b.run()
			f := has(ta, "period-cut-short")
			if f == nil {
				t.Fatal("the window is not questioned")
			}
			total := ta.total("one", "bare")
			if !swing {
				if !strings.Contains(f.Text.String(), "60 %") { // 0.8·1.2/(2·0.8)
					t.Errorf("without a swing: %s", f.Text)
				}
				if total.U > 1e-3 {
					t.Errorf("an unknown swing enters %g W", total.U)
				}
				continue
			}
			// The rectangle of ±1.2 A: its limits hold the truth, k·u at 95 % does not need to.
			told = math.Sqrt(3) * total.U
			if math.Abs(total.Estimate-1.8) > told*(1+1e-6) {
				t.Errorf("%.2f W is farther from 1.8 W than %.2f W", total.Estimate, told)
			}
			causes, err := ta.Graph.BudgetBy(total.Value, sensing.TagCause)
			if err != nil || causes[0].Name != sensing.CauseWindow || !strings.Contains(f.Text.String(), "1.2 A") {
				t.Errorf("%v, %v, %s", causes, err, f.Text)
			}
		}
	}
	if math.Abs(worst-told) > 1e-3 {
		t.Errorf("the largest error is %g A, what is told %g A", worst, told)
	}
	for _, c := range []struct{ averages, reading, want string }{
		{"2 s", "1.8000000 V", ""}, {"4 s", "1.8000000 V", ""}, // whole periods
		{"0.8 s", "1.0000000..3.0000000 V", ""},          // a band shows the error itself
		{"0.8 s", "1.2000000 2.1000000 2.0000000 V", ""}, // so do repeats
		{"", "1.8000000 V", "averaging-unknown"},
	} {
		b := newBench(t, "±1 %")
		b.States[0].Cycle = &study.Cycle{Period: *b.entry("2 s", quantity.Second)}
		if c.averages != "" {
			b.Instruments[1].Ranges[0].Averages = b.entry(c.averages, quantity.Second)
		}
		b.board("one", "core at 1 V")
		b.sitting("s", "one", map[string][]string{"bare": {"core: " + c.reading + ", 1.0000000 V"}})
		ta := b.run()
		for _, code := range []string{"period-cut-short", "averaging-unknown"} {
			if f := has(ta, code); (f != nil) != (code == c.want) {
				t.Errorf("%+v: %s: %v", c, code, f)
			}
		}
	}
}
