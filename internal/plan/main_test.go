package plan

import (
	"flag"
	"os"
	"testing"
)

// TestMain draws the properties' examples from one seed, so that a run says
// something about the change that was made. To explore, give another:
// go test -rapid.seed=7 -rapid.checks=1000.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.seed", "20260314"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}
