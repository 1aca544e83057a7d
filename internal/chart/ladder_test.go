package chart

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"railtally/internal/cooling"
	"railtally/internal/example"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func fig(x, expanded float64) tally.Figure {
	return tally.Figure{Estimate: x, U: expanded / 2, K: 2, Expanded: expanded, DOF: math.Inf(1)}
}

// heatPath is a way of the heat with invented figures; the second sits close to
// the first, the third is over its limit.
func heatPath(split bool) *cooling.HeatPath {
	h := &cooling.HeatPath{Power: fig(6.2, 0.1), Up: math.NaN(), Down: math.NaN(), Radiated: math.NaN(),
		Rungs: []cooling.Rung{{Name: "room", Temperature: fig(45, 0)},
			{Name: "sink", Kind: study.SinkPoint, Temperature: fig(81.3, 1.7), Limited: true, Limit: 90},
			{Name: "case", Kind: study.CasePoint, Temperature: fig(96.8, 1.9), Limited: true, Limit: 95},
			{Name: "junction", Kind: study.JunctionPoint, Temperature: fig(97.9, 2.1), Limited: true, Limit: 105}},
		Steps: []tally.Figure{fig(5.85, 0.3), fig(2.5, 0.21), fig(0.18, 0.05)},
	}
	if split {
		h.Split, h.Up, h.Radiated, h.Down = true, 4.3, 1.2, 1.9
	}
	return h
}

// cooled is the worked example with a section on cooling.
func cooled(t testing.TB, section string) (*cooling.Cooling, *cooling.Board) {
	t.Helper()
	own := regexp.MustCompile(`(?ms)^cooling:\n.*?\n\n`)
	text := own.ReplaceAll(example.New(example.Seed).Text, []byte("cooling:\n  Otter: "+section+"\n"))
	s, _, err := studyfile.Read("bench.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	tl, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c, err := cooling.Run(tl, cooling.Options{Board: "Otter"})
	if err != nil {
		t.Fatal(err)
	}
	return c, c.Boards[0]
}

// series is a case that warms from 30 to 60 °C with a time constant of six
// minutes, read n times each minute; with too few it cannot be settled.
func series(n int) *cooling.Reading {
	r := &cooling.Reading{On: study.StateOn{Board: "Otter", State: "four-busy"}, Name: "case"}
	for i := range n {
		r.Seconds = append(r.Seconds, 60*float64(i))
		r.Celsius = append(r.Celsius, math.Round(10*(60-30*math.Exp(-float64(i)/6)))/10)
	}
	if r.Settling, r.Unsettled = cooling.Settle(r.Seconds, r.Celsius, 23, study.StillAir); r.Unsettled == nil {
		r.Temperature = fig(r.Settling.Final, 2*r.Settling.U)
	}
	return r
}

func coolingGallery() []drawn {
	ladder := func(h *cooling.HeatPath) func(testing.TB, Options) (*Drawing, error) {
		return func(_ testing.TB, o Options) (*Drawing, error) { return Ladder(h, 0.95, o) }
	}
	thermal := func(section string) func(testing.TB, Options) (*Drawing, error) {
		return func(t testing.TB, o Options) (*Drawing, error) {
			c, b := cooled(t, section)
			return ThermalMap(c.MapOf(b, b.Named("case"), 30), o)
		}
	}
	short := heatPath(false)
	short.Rungs, short.Steps = short.Rungs[:2], short.Steps[:1]
	return []drawn{
		{"ladder", ladder(heatPath(false))}, {"ladder-split", ladder(heatPath(true))}, {"ladder-short", ladder(short)},
		{"rise", func(t testing.TB, o Options) (*Drawing, error) {
			c, b := cooled(t, "{room: 45 °C}")
			return Rise(c, b, o)
		}},
		{"rise-changed", func(t testing.TB, o Options) (*Drawing, error) {
			c, b := cooled(t, "{room: 45 °C, limits: {case: 80 °C}, sink: {kind: plate fins, width: 40 mm, length: 40 mm, base thickness: 3 mm, fins: 10, fin height: 18 mm, fin thickness: 1 mm}}")
			ch, bad := b.ChangeOf([]cooling.Setting{{Key: "fin height", Text: "30 mm"}})
			if len(bad) > 0 {
				t.Fatal(bad[0])
			}
			tr, err := c.Try(b, ch)
			if err != nil {
				t.Fatal(err)
			}
			return RiseAfter(c, b, tr, o)
		}},
		{"settle", func(_ testing.TB, o Options) (*Drawing, error) { return Settle(series(20), 0.95, o) }},
		{"settle-early", func(_ testing.TB, o Options) (*Drawing, error) { return Settle(series(5), 0.95, o) }},
		{"map", thermal("{limits: {case: 95 °C}, room: 45 °C}")},
		{"map-open", thermal("{room: 30 °C}")},
		{"map-hopeless", thermal("{limits: {case: 30 °C}, room: 45 °C, power: 20 W}")},
	}
}

func TestCoolingLabelsHaveRoom(t *testing.T) {
	for _, g := range coolingGallery() {
		for size, o := range sizes() {
			d, err := g.draw(t, o)
			if err != nil {
				t.Fatalf("%s %s: %v", g.name, size, err)
			}
			t.Run(g.name+" "+size, func(t *testing.T) { checkLabels(t, d) })
			if again := svg(t, d); again != svg(t, d) || strings.Contains(again, "NaN") || strings.Contains(again, "Inf") {
				t.Errorf("%s %s: the drawing is not sound", g.name, size)
			}
		}
	}
}

// Every figure is also in words: in the drawing, and in what a screen reader is
// told.
func TestLadderSaysItsFigures(t *testing.T) {
	d, err := Ladder(heatPath(true), 0.95, Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := ""
	for _, l := range d.labels() {
		all += l.text + "\n"
	}
	for _, want := range []string{"junction", "96.8 ± 1.9 °C", "limit 95.0 °C, exceeded", "limit 90.0 °C", "45.0 °C", "5.85 ± 0.30 K/W", "1.9 W"} {
		if !strings.Contains(all, want) {
			t.Errorf("nothing reads %q in\n%s", want, all)
		}
	}
	if !strings.Contains(d.Summary, "case 96.8 ± 1.9 °C, 2.50 ± 0.21 K/W above sink") {
		t.Error(d.Summary)
	}
}

// Rungs stand higher the warmer they are.
func TestLadderIsInOrder(t *testing.T) {
	d, err := Ladder(heatPath(false), 0.95, Options{})
	if err != nil {
		t.Fatal(err)
	}
	y := map[string]float64{}
	for _, l := range d.labels() {
		y[l.text] = l.y
	}
	if !(y["junction"] < y["case"] && y["case"] < y["sink"] && y["sink"] < y["room"]) {
		t.Error(y)
	}
}

func TestCoolingChartsRefuse(t *testing.T) {
	broken := heatPath(false)
	broken.Rungs[1].Temperature.Estimate = math.NaN()
	for what, draw := range map[string]func() (*Drawing, error){
		"nothing":        func() (*Drawing, error) { return Ladder(nil, 0.95, Options{}) },
		"no temperature": func() (*Drawing, error) { return Ladder(broken, 0.95, Options{}) },
		"no map":         func() (*Drawing, error) { return ThermalMap(nil, Options{}) },
		"no width":       func() (*Drawing, error) { return Ladder(heatPath(false), 0.95, Options{Width: -1}) },
	} {
		if _, err := draw(); err == nil {
			t.Errorf("%s: drawn", what)
		}
	}
}

func TestCoolingGolden(t *testing.T) {
	for _, g := range coolingGallery()[:2] {
		d, err := g.draw(t, Options{Title: "Way of the heat"})
		if err != nil {
			t.Fatal(err)
		}
		got, path := svg(t, d), filepath.Join("testdata", g.name+".svg")
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s is drawn anew: look at it, then -update", path)
		}
	}
}
