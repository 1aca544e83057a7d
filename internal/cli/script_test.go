package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"railtally/internal/notebook"
	"railtally/internal/studyfile"
)

// TestMain lets scripts run the program as a command named railtally.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"railtally": func() { os.Exit(Run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"json":     scriptJSON,
			"keep":     scriptKeep,
			"nonsense": scriptNonsense,
			"serve":    scriptServe,
			"bench":    scriptBench,
		},
	})
}

// json FILE KEY...: the file is one JSON document that has these keys.
func scriptJSON(ts *testscript.TestScript, neg bool, args []string) {
	var doc map[string]json.RawMessage
	dec := json.NewDecoder(bytes.NewReader([]byte(ts.ReadFile(args[0]))))
	ts.Check(dec.Decode(&doc))
	if dec.More() {
		ts.Fatalf("%s holds more than one document", args[0])
	}
	for _, k := range args[1:] {
		if _, ok := doc[k]; ok == neg {
			ts.Fatalf("key %q present: %v", k, ok)
		}
	}
}

// nonsense FILE: writes ten megabytes of it.
func scriptNonsense(ts *testscript.TestScript, _ bool, args []string) {
	junk := bytes.Repeat([]byte("[{: - &a *b %! \x01\xff 12..mV\n"), 10<<20/26)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), junk, 0o644))
}

// keep FILE DB: takes a study's text file into a notebook.
func scriptKeep(ts *testscript.TestScript, _ bool, args []string) {
	s, _, err := studyfile.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	nb, err := notebook.Open(context.Background(), ts.MkAbs(args[1]), notebook.Options{})
	ts.Check(err)
	_, err = nb.Import(context.Background(), s, notebook.Origin{Key: args[0], Device: "script"})
	ts.Check(err)
	ts.Check(nb.Close())
}
