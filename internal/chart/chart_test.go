package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"railtally/internal/study"
	"railtally/internal/tally"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// drawn is one chart of the tests.
type drawn struct {
	name string
	draw func(testing.TB, Options) (*Drawing, error)
}

func on(board, state string) study.StateOn { return study.StateOn{Board: board, State: state} }

func lanesOf(of func(testing.TB) *tally.Tally, board, state string) func(testing.TB, Options) (*Drawing, error) {
	return func(t testing.TB, o Options) (*Drawing, error) { return Lanes(of(t), on(board, state), o) }
}

const longState = "everything attached, nothing running, lid closed, fan at half speed"
const longBoard = "A board with a name that nobody would write on its label"

// gallery is every chart on every kind of study.
func gallery() []drawn {
	out := []drawn{
		{"lanes", lanesOf(evening, "Otter", "one-busy")},
		{"lanes-missing", lanesOf(evening, "Otter", "four-busy")},
		{"lanes-unmeasured", lanesOf(evening, "Marten", "four-busy")},
		{"lanes-one", lanesOf(single, "Stoat", "busy")},
		{"lanes-twelve", lanesOf(dozen, "Otter", "busy")},
		{"lanes-awkward", lanesOf(awkward, longBoard, longState)},
		{"lanes-zero", lanesOf(awkward, "Otter", "off")},
	}
	for _, st := range []struct {
		name, board string
		of          func(testing.TB) *tally.Tally
	}{
		{"", "Otter", evening}, {"-one", "Stoat", single}, {"-twelve", "Otter", dozen}, {"-awkward", longBoard, awkward},
	} {
		out = append(out,
			drawn{"totals" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Totals(st.of(t), o) }},
			drawn{"stack" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Stack(st.of(t), st.board, o) }},
			drawn{"differences" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Differences(st.of(t), o) }},
		)
	}
	for _, st := range []struct {
		name  string
		state study.StateOn
		of    func(testing.TB) *tally.Tally
	}{
		{"", on("Otter", "four-busy"), varied}, {"-one", on("Stoat", "busy"), single}, {"-twelve", on("Otter", "busy"), dozen},
		{"-awkward", on(longBoard, longState), awkward}, {"-missing", on("Otter", "four-busy"), evening},
	} {
		out = append(out,
			drawn{"effects" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Effects(st.of(t), o) }},
			drawn{"waterfall" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Waterfall(st.of(t), st.state.Board, o) }},
			drawn{"matrix" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Matrix(st.of(t), st.state.Board, o) }},
			drawn{"shares" + st.name, func(t testing.TB, o Options) (*Drawing, error) { return Shares(st.of(t), st.state, o) }},
		)
	}
	return append(out,
		drawn{"card", func(t testing.TB, o Options) (*Drawing, error) { return Card(evening(t), o) }},
		drawn{"card-one", func(t testing.TB, o Options) (*Drawing, error) { return Card(single(t), o) }},
		drawn{"card-awkward", func(t testing.TB, o Options) (*Drawing, error) { return Card(awkward(t), o) }},
		drawn{"card-empty", func(t testing.TB, o Options) (*Drawing, error) { return Card(empty(t), o) }},
		drawn{"totals-empty", func(t testing.TB, o Options) (*Drawing, error) { return Totals(empty(t), o) }},
		drawn{"differences-empty", func(t testing.TB, o Options) (*Drawing, error) { return Differences(empty(t), o) }},
	)
}

// sizes are the widths that charts are made for, and a frame.
func sizes() map[string]Options {
	return map[string]Options{
		"360": {Width: 360}, "720": {}, "1440": {Width: 1440, Title: "What the chip draws", Footer: "A study, 14 March 2026"},
		"frame": {Width: 1920, Height: 1080, Title: "What the chip draws"}, "inline": {Inline: true, Bare: true},
	}
}

func svg(t testing.TB, d *Drawing) string {
	t.Helper()
	var b bytes.Buffer
	if err := d.WriteSVG(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// checkLabels reports labels that leave the drawing or touch each other.
func checkLabels(t interface{ Errorf(string, ...any) }, d *Drawing) {
	type box struct{ x0, y0, x1, y1 float64 }
	labels := d.labels()
	for i, l := range labels {
		var b box
		b.x0, b.y0, b.x1, b.y1 = l.box()
		if b.x0 < -0.01 || b.y0 < -0.01 || b.x1 > d.Width+0.01 || b.y1 > d.Height+0.01 {
			t.Errorf("%q leaves the drawing of %g by %g: %.1f", l.text, d.Width, d.Height, b)
		}
		for _, m := range labels[:i] {
			var c box
			c.x0, c.y0, c.x1, c.y1 = m.box()
			if b.x0 < c.x1-0.01 && c.x0 < b.x1-0.01 && b.y0 < c.y1-0.01 && c.y0 < b.y1-0.01 {
				t.Errorf("%q and %q overlap: %.1f, %.1f", l.text, m.text, b, c)
			}
		}
	}
}

func TestLabelsHaveRoom(t *testing.T) {
	for _, g := range gallery() {
		for size, o := range sizes() {
			t.Run(g.name+" "+size, func(t *testing.T) {
				d, err := g.draw(t, o)
				if err != nil {
					t.Fatal(err)
				}
				checkLabels(t, d)
				if o.Height != 0 && d.Height != o.Height {
					t.Errorf("height %g, asked for %g", d.Height, o.Height)
				}
			})
		}
	}
}

func TestSVGIsSound(t *testing.T) {
	for _, g := range gallery() {
		for size, o := range sizes() {
			d, err := g.draw(t, o)
			if err != nil {
				t.Fatalf("%s %s: %v", g.name, size, err)
			}
			text := svg(t, d)
			if again := svg(t, d); again != text {
				t.Errorf("%s %s: written twice, it differs", g.name, size)
			}
			dec := xml.NewDecoder(strings.NewReader(text))
			texts, titles := 0, 0
			for {
				tok, err := dec.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatalf("%s %s: %v", g.name, size, err)
				}
				if e, ok := tok.(xml.StartElement); ok {
					switch e.Name.Local {
					case "text":
						texts++
					case "title":
						titles++
					}
				}
			}
			if texts != len(d.labels()) || titles == 0 {
				t.Errorf("%s %s: %d texts of %d, %d titles", g.name, size, texts, len(d.labels()), titles)
			}
			for _, bad := range []string{"NaN", "Inf", "<script", "style=", "href"} {
				if strings.Contains(text, bad) {
					t.Errorf("%s %s: the SVG contains %q", g.name, size, bad)
				}
			}
			for _, want := range []string{`role="img"`, d.id + "-title", d.id + "-desc"} {
				if !strings.Contains(text, want) {
					t.Errorf("%s %s: the SVG lacks %s", g.name, size, want)
				}
			}
		}
	}
}

func TestGoldenSVG(t *testing.T) {
	for _, g := range gallery() {
		switch g.name {
		case "lanes", "lanes-twelve", "lanes-missing", "totals", "stack", "differences", "totals-awkward", "totals-empty",
			"effects", "waterfall", "matrix", "shares", "effects-one":
		default:
			continue
		}
		for _, width := range []string{"360", "720"} {
			d, err := g.draw(t, sizes()[width])
			if err != nil {
				t.Fatal(err)
			}
			golden(t, g.name+"-"+width+".svg", []byte(svg(t, d)), func(got, want []byte) bool { return bytes.Equal(got, want) })
		}
	}
}

func TestGoldenPNG(t *testing.T) {
	for _, g := range gallery() {
		switch g.name {
		case "lanes", "totals", "differences", "effects", "waterfall", "matrix", "shares":
		default:
			continue
		}
		for name, o := range map[string]Options{"": {Width: 480}, "-dark": {Width: 360, Dark: true}} {
			d, err := g.draw(t, o)
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := d.WritePNG(&b, 1); err != nil {
				t.Fatal(err)
			}
			golden(t, g.name+name+".png", b.Bytes(), alike)
		}
	}
}

// golden compares with a file in testdata, or rewrites it with -update.
func golden(t *testing.T, name string, got []byte, same func(got, want []byte) bool) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !same(got, want) {
		left := filepath.Join(t.ArtifactDir(), name)
		_ = os.WriteFile(left, got, 0o644) // for looking at; the test has failed anyway
		t.Errorf("%s differs; what was drawn is in %s, run with -artifacts to keep it, -update to accept it", name, left)
	}
}

// alike tells whether two pictures are the same but for rounding: at most one
// pixel in a thousand differs by more than a tenth of the range in any channel.
func alike(got, want []byte) bool {
	a, err := png.Decode(bytes.NewReader(got))
	if err != nil {
		return false
	}
	b, err := png.Decode(bytes.NewReader(want))
	if err != nil || a.Bounds() != b.Bounds() {
		return false
	}
	off := 0
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			if differs(a, b, x, y) {
				off++
			}
		}
	}
	return off*1000 <= a.Bounds().Dx()*a.Bounds().Dy()
}

func differs(a, b image.Image, x, y int) bool {
	r1, g1, b1, _ := a.At(x, y).RGBA()
	r2, g2, b2, _ := b.At(x, y).RGBA()
	for _, d := range []float64{float64(r1) - float64(r2), float64(g1) - float64(g2), float64(b1) - float64(b2)} {
		if math.Abs(d) > 6554 {
			return true
		}
	}
	return false
}
