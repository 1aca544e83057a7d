package plan

import (
	"bytes"
	"context"
	"encoding/json"
	"testing"

	"pgregory.net/rapid"

	"railtally/internal/studyfile/studygen"
)

// Any sound study is planned, or refused with a reason; the plan can be written
// as JSON (which has no place for what is no number) and as a sheet.
func TestAnyStudyIsPlanned(t *testing.T) {
	planned := 0
	rapid.Check(t, func(t *rapid.T) {
		s := studygen.Studies().Draw(t, "study")
		sc := DefaultScheme()
		sc.ByState, sc.AsListed = rapid.Bool().Draw(t, "by state"), rapid.Bool().Draw(t, "as listed")
		sc.StatesPerZero, sc.Repeats = rapid.IntRange(0, 3).Draw(t, "per zero"), rapid.IntRange(1, 4).Draw(t, "repeats")
		p, err := Make(context.Background(), s, Options{Scheme: &sc, Seed: rapid.Uint64().Draw(t, "seed")})
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a reason")
			}
			return
		}
		planned++
		if _, err := json.Marshal(p.Document(nil)); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := Sheet(&b, p, SheetOptions{}); err != nil {
			t.Fatal(err)
		}
		for _, c := range p.Counsels {
			if c.Sentence() == "" {
				t.Fatal("nothing is said of a target")
			}
		}
	})
	t.Logf("%d studies were planned", planned)
	if planned == 0 {
		t.Error("no study was planned")
	}
}
