package main

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
)

// floors is where each package stands: a package may import only packages on
// lower floors. It keeps the flow from the record to what is said in one
// direction; docs/code.md tells more.
var floors = map[string]int{
	"internal/phrase": 0,
	"gum":             0, "fit": 0, "internal/quantity": 0, "internal/look": 0, "internal/cooling/heat": 0, "internal/scpi": 0, "internal/scratch": 0,
	"internal/study": 1, "internal/trace": 1, "internal/trace/logfile": 2, "internal/trace/packed": 2,
	"internal/sensing": 2,
	"internal/tally":   3, "internal/plan/insertion": 3,
	"internal/plan": 4, "internal/table": 4, "internal/schema": 6, "internal/redact": 5, "internal/across": 5,
	"internal/studyfile": 4, "internal/studyfile/studygen": 5, "internal/example": 4, "internal/cooling": 4, "internal/notebook": 6,
	"internal/acquire": 3, "internal/simbench": 5,
	"internal/chart":    5,
	"internal/report":   6,
	"internal/bundle":   7,
	"internal/rehearse": 0, "internal/recording": 7,
	"internal/web": 8, "internal/cli": 9,
	"": 10,
}

// public packages know nothing of this program, so that others can use them.
var public = []string{"gum", "fit"}

func TestFloors(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,Doc", "./...").Output()
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for dec.More() {
		var p struct {
			ImportPath, Doc string
			Imports         []string
		}
		if err := dec.Decode(&p); err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, "railtally"), "/")
		if strings.HasPrefix(name, "bench/") {
			continue // programs that measure, imported by nobody
		}
		floor, known := floors[name]
		if !known {
			t.Errorf("package %s stands on no floor: give it one here and in docs/code.md", p.ImportPath)
			continue
		}
		if p.Doc == "" {
			t.Errorf("package %s has no package comment", p.ImportPath)
		}
		for _, imp := range p.Imports {
			if imp != "railtally" && !strings.HasPrefix(imp, "railtally/") {
				continue
			}
			other := strings.TrimPrefix(strings.TrimPrefix(imp, "railtally"), "/")
			if f := floors[other]; f >= floor {
				t.Errorf("%s (floor %d) imports %s (floor %d): only lower floors may be imported, so that what is said never feeds back into what was measured", name, floor, other, f)
			}
			for _, pub := range public {
				if name == pub {
					t.Errorf("%s is for everybody and must not import %s", name, other)
				}
			}
		}
	}
}
