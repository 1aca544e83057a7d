package cli

import (
	"errors"
	"testing"

	"railtally/internal/cooling"
	"railtally/internal/example"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

func cooledBoard(t testing.TB) *cooling.Board {
	t.Helper()
	s, _, err := studyfile.Read("bench.yaml", example.New(example.Seed).Text)
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
	return c.Boards[0]
}

// Whatever is typed behind --try is understood or is wrong use; what is
// understood and can be is a sink that package heat takes, or refuses.
func FuzzTry(f *testing.F) {
	for _, seed := range []string{"fins=8", "gap=4.5 mm", "fin height=30 mm", "stands=facing up", "finish=bare", "material=copper",
		"emissivity=0.9", "air speed=0.5 m/s", "interface=0.2 K/W", "sink=none", "fins=-1", "gap=NaN mm", "width=1e300 mm", "=", "", "fins=1e9"} {
		f.Add(seed)
	}
	b := cooledBoard(f)
	f.Fuzz(func(t *testing.T, text string) {
		ch, err := changeFrom(b, []string{text})
		var u usage
		switch {
		case err != nil && !errors.As(err, &u):
			t.Errorf("%q: %v is no wrong use", text, err)
		case err == nil && ch.Sink != nil:
			_ = ch.Sink.Check() // must not panic
		}
	})
}
