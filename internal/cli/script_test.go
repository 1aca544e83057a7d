package cli

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"os"
	"slices"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"railtally/internal/notebook"
	"railtally/internal/scratch"
	"railtally/internal/studyfile"
)

// TestMain lets scripts run the program as a command named railtally.
func TestMain(m *testing.M) {
	scratch.InMemory()
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
			"photo":    scriptPhoto,
			"nonsense": scriptNonsense,
			"serve":    scriptServe,
			"bench":    scriptBench,
			"tamper":   scriptTamper,
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

// photo DB BOARD RAIL: puts a photograph of a board into study 1 of a notebook, with
// a pin where a rail is opened.
func scriptPhoto(ts *testscript.TestScript, _ bool, args []string) {
	ctx := context.Background()
	nb, err := notebook.Open(ctx, ts.MkAbs(args[0]), notebook.Options{})
	ts.Check(err)
	var b bytes.Buffer
	ts.Check(jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 64, 48)), nil))
	ack, err := nb.AddPhoto(ctx, 1, notebook.View{Board: args[1], Side: notebook.Front},
		notebook.Picture{Type: "image/jpeg", Width: 64, Height: 48, Bytes: b.Bytes()}, notebook.Origin{Device: "script"})
	ts.Check(err)
	_, err = nb.AddPin(ctx, ack.First, notebook.Spot{Number: 1, Role: notebook.Opening, Rail: args[2], X: 0.5, Y: 0.5}, notebook.Origin{Device: "script"})
	ts.Check(err)
	ts.Check(nb.Close())
}

// tamper FROM TO FILE OLD NEW: changes a text in a file of a bundle, and mends
// the manifest.
func scriptTamper(ts *testscript.TestScript, _ bool, args []string) {
	z, err := zip.OpenReader(ts.MkAbs(args[0]))
	ts.Check(err)
	defer z.Close()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	var manifest []byte
	sums := map[string]string{} // as it was, as it is
	for _, f := range slices.Backward(z.File) {
		r, err := f.Open()
		ts.Check(err)
		text, err := io.ReadAll(r)
		ts.Check(err)
		if f.Name == "manifest.json" {
			manifest = text
			continue
		}
		if f.Name == args[2] {
			before := sha256.Sum256(text)
			if text = bytes.Replace(text, []byte(args[3]), []byte(args[4]), 1); sha256.Sum256(text) == before {
				ts.Fatalf("%s does not contain %q", args[2], args[3])
			}
			sums[fmt.Sprintf("%x", before)] = fmt.Sprintf("%x", sha256.Sum256(text))
		}
		c, err := w.Create(f.Name)
		ts.Check(err)
		_, err = c.Write(text)
		ts.Check(err)
	}
	for before, now := range sums {
		manifest = bytes.Replace(manifest, []byte(before), []byte(now), 1)
	}
	c, err := w.Create("manifest.json")
	ts.Check(err)
	_, err = c.Write(manifest)
	ts.Check(err)
	ts.Check(w.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o644))
}
