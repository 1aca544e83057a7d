package studyfile

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"railtally/internal/study"
	"railtally/internal/studyfile/studygen"
)

// TestRoundTrip: what is written can be read, is the same study, and is written
// the same way again.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := studygen.Studies().Draw(t, "study")
		if f := study.Check(s); f != nil {
			t.Fatalf("the generator drew a study with a fault: %v", f)
		}
		text := written(t, s)
		again, _, err := Read("again.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if d := cmp.Diff(s, again); d != "" {
			t.Fatalf("the study changed on its way (-before +after):\n%s\n%s", d, text)
		}
		if d := cmp.Diff(text, written(t, again)); d != "" {
			t.Fatalf("the canonical text changed on its way:\n%s", d)
		}
	})
}
