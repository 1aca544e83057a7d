package heat

import (
	"strings"
	"testing"
)

// Each range that is left is said, and none that is kept.
func TestDoubts(t *testing.T) {
	b := &Board{Width: 0.1, Height: 0.08, Thickness: 1.6e-3, Sheet: 0.02, Faces: 2, Stand: FacingUp, Emissivity: 0.9, Chip: 15e-3}
	for _, x := range []struct {
		name   string
		change func(*Path, *Surroundings, *float64)
		want   string // "" : nothing
	}{
		{"as it is", func(*Path, *Surroundings, *float64) {}, ""},
		{"sideways", func(p *Path, _ *Surroundings, _ *float64) { p.Sink.Stand = Sideways }, "55 %"},
		{"dense", func(p *Path, _ *Surroundings, _ *float64) { p.Sink.Fins = 18 }, "narrow"},
		{"short", func(p *Path, _ *Surroundings, _ *float64) { p.Sink.Height = 8e-3 }, "short"},
		{"wide", func(p *Path, _ *Surroundings, _ *float64) { p.Sink.Fins, p.Sink.Width, p.Sink.Height = 2, 0.3, 0.2 }, "wide"},
		{"hot", func(_ *Path, _ *Surroundings, w *float64) { *w = 90 }, "air's properties"},
		{"draught", func(_ *Path, in *Surroundings, _ *float64) { in.Speed = 0.2 }, "draught"},
		{"storm", func(_ *Path, in *Surroundings, _ *float64) { in.Speed = 9 }, "outside the range of the formula for blown"},
		{"lying plate", func(p *Path, _ *Surroundings, _ *float64) {
			p.Sink.Kind, p.Sink.Stand, p.Sink.Width, p.Sink.Length = Plate, FacingDown, 0.03, 0.03
		}, "lying plate"},
		{"lying board", func(p *Path, _ *Surroundings, _ *float64) { p.Board = b }, "board lies"},
	} {
		s := sinkS(8)
		p, in, power := Path{Sink: &s}, Room(25), 8.0
		x.change(&p, &in, &power)
		l, err := New(p)
		if err != nil {
			t.Fatalf("%s: %v", x.name, err)
		}
		r, err := l.At(power, in)
		if err != nil {
			t.Fatalf("%s: %v", x.name, err)
		}
		got := strings.Join(l.Doubts(r, in), "\n")
		if (got == "") != (x.want == "") || !strings.Contains(got, x.want) {
			t.Errorf("%s: %q", x.name, got)
		}
	}
}

// What stands in for other parts can be computed and lies in its own band.
func TestTables(t *testing.T) {
	for _, m := range Materials() {
		s := sinkS(8)
		s.Conductivity = m.Conductivity
		if err := s.Check(); err != nil {
			t.Errorf("%s: %v", m.Name, err)
		}
	}
	for _, f := range Finishes() {
		if !(f.Low < f.Emissivity && f.Emissivity < f.High && f.High <= 1) {
			t.Errorf("%+v", f)
		}
	}
	if CheckAltitude(8848) == nil || CheckAltitude(3000) != nil {
		t.Error("altitudes")
	}
}
