package studyfile

import (
	"bytes"
	"flag"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"railtally/internal/study"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares a text with the file that holds what it should be.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s differs (-want +got); -update accepts it:\n%s", path, d)
	}
}

// written returns the text of a study.
func written(t interface {
	Helper()
	Fatal(...any)
}, s *study.Study) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestWriteExample(t *testing.T) {
	s, _, err := Open("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := written(t, s)
	golden(t, "testdata/example.golden", text)
	again, _, err := Read("again.yaml", []byte(text))
	if err != nil {
		t.Fatalf("the written text cannot be read:\n%v", err)
	}
	if d := cmp.Diff(s, again); d != "" {
		t.Errorf("the study changed on its way (-before +after):\n%s", d)
	}
	if d := cmp.Diff(text, written(t, again)); d != "" {
		t.Errorf("the canonical text changed on its way:\n%s", d)
	}
}
