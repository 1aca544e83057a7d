package notebook

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"railtally/internal/studyfile/studygen"
)

func TestImportLosesNothing(t *testing.T) {
	ctx := context.Background()
	nb, err := Open(ctx, filepath.Join(t.TempDir(), "n.db"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer nb.Close()
	rapid.Check(t, func(t *rapid.T) {
		s := studygen.Studies().Draw(t, "study")
		p, err := nb.Import(ctx, s, Origin{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Draft {
			t.Fatal("draft")
		}
		got, err := nb.Study(ctx, p.StudyID)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(s, got); d != "" {
			t.Fatal(d)
		}
	})
}
