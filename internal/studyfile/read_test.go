package studyfile

import (
	"testing"
)

func TestExample(t *testing.T) {
	s, _, err := Open("testdata/example.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_ = s
}
