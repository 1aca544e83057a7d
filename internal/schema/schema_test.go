package schema_test

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	reflected "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"railtally/gum"
	"railtally/internal/across"
	"railtally/internal/example"
	"railtally/internal/schema"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/table"
	"railtally/internal/tally"
)

var update = flag.Bool("update", false, "write the schemas anew")

// documents are the forms that have a schema: a value of the Go type, and what
// the key format says.
var documents = map[string]struct {
	of     any
	format string
}{
	"tally":      {&tally.Document{}, tally.DocumentFormat},
	"claims":     {&tally.ClaimsDocument{}, tally.ClaimsFormat},
	"table":      {&table.Document{}, table.Format},
	"comparison": {&across.Document{}, across.Format},
}

// The schemas are those of the Go types.
func TestSchemasAreCurrent(t *testing.T) {
	if n := len(schema.Names()); n != len(documents) && !*update {
		t.Errorf("there are %d schemas, want %d", n, len(documents))
	}
	for name, d := range documents {
		want := made(t, name, d.of, d.format)
		if *update {
			if err := os.WriteFile(name+".schema.json", want, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		got, err := schema.Text(name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s.schema.json is not that of the Go type: run with -update, and say the new keys in docs", name)
		}
	}
}

// made builds the schema of a Go type.
func made(t *testing.T, name string, of any, format string) []byte {
	t.Helper()
	r := &reflected.Reflector{
		AllowAdditionalProperties: true,
		Anonymous:                 true,
		Mapper: func(x reflect.Type) *reflected.Schema {
			if x.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
				return &reflected.Schema{Type: "string"}
			}
			switch x {
			case reflect.TypeFor[tally.Verdict]():
				return words(tally.Resolved, tally.Equal, tally.NotResolved)
			case reflect.TypeFor[tally.Judgement]():
				return words(tally.Holds, tally.Fails, tally.Undecided)
			case reflect.TypeFor[table.Record]():
				return &reflected.Schema{Type: "object", AdditionalProperties: &reflected.Schema{AnyOf: []*reflected.Schema{
					{Type: "string"}, {Type: "number"}, {Type: "boolean"},
				}}}
			}
			return nil
		},
	}
	s := r.Reflect(of)
	s.Title = format
	for _, d := range s.Definitions {
		if d.Properties == nil {
			continue
		}
		if p, ok := d.Properties.Get("format"); ok {
			p.Const = format
		}
	}
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	return append(out, '\n')
}

func words[T ~string](of ...T) *reflected.Schema {
	s := &reflected.Schema{Type: "string"}
	for _, w := range of {
		s.Enum = append(s.Enum, string(w))
	}
	return s
}

// compiled is a schema; a strict one allows no keys that it does not know, so
// that a key which the documents have and the schema has not is seen.
func compiled(t *testing.T, name string, strict bool) *jsonschema.Schema {
	t.Helper()
	text, err := schema.Text(name)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if strict {
		closeObjects(doc)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func closeObjects(x any) {
	switch x := x.(type) {
	case map[string]any:
		if _, ok := x["properties"]; ok {
			x["additionalProperties"] = false
		}
		for _, v := range x {
			closeObjects(v)
		}
	case []any:
		for _, v := range x {
			closeObjects(v)
		}
	}
}

func validate(t *testing.T, s *jsonschema.Schema, doc any) error {
	t.Helper()
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	x, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(x)
}

// Two studies side by side.
func TestComparisonFollowsItsSchema(t *testing.T) {
	worked, _, err := studyfile.Read("otter.yaml", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	m, err := across.Merge(worked, worked, across.Options{Labels: [2]string{"then", "now"}})
	if err != nil {
		t.Fatal(err)
	}
	x, err := tally.Run(m.Study, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	doc, err := m.Document(x)
	if err != nil {
		t.Fatal(err)
	}
	if err := validate(t, compiled(t, "comparison", true), doc); err != nil {
		t.Error(err)
	}
}

// What the program writes is what the schemas say, for the worked example and
// for a study in which nearly nothing was measured.
func TestDocumentsFollowTheirSchemas(t *testing.T) {
	worked, _, err := studyfile.Read("otter.yaml", example.New(example.Seed).Text)
	if err != nil {
		t.Fatal(err)
	}
	for what, s := range map[string]*study.Study{"the worked example": worked, "a bare study": {Question: "Nothing yet?", Level: 0.95}} {
		x, err := tally.Run(s, tally.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var sim *tally.Simulation
		if len(s.Boards) > 0 {
			if sim, err = x.Simulate(t.Context(), gum.MCOptions{Trials: 1000, Seed: 1}); err != nil {
				t.Fatal(err)
			}
		}
		doc, err := x.Document(sim)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(t, compiled(t, "tally", true), doc); err != nil {
			t.Errorf("%s: tally: %v", what, err)
		}
		if err := validate(t, compiled(t, "claims", true), x.ClaimsDocument()); err != nil {
			t.Errorf("%s: claims: %v", what, err)
		}
		strict := compiled(t, "table", true)
		for _, name := range table.Names() {
			tb, err := table.Of(x, name)
			if err != nil {
				t.Fatal(err)
			}
			if err := validate(t, strict, tb.Document(x)); err != nil {
				t.Errorf("%s: table %s: %v", what, name, err)
			}
		}
	}
}

// A schema is no good that lets everything pass; one that refuses new keys would
// break its readers.
func TestSchemasRefuse(t *testing.T) {
	s := compiled(t, "table", false)
	good := func() map[string]any {
		return map[string]any{"format": table.Format, "table": "x", "title": "x", "study": "x", "level": 0.95, "rows": []any{},
			"columns": []any{map[string]any{"key": "a", "type": "text"}}}
	}
	for name, c := range map[string]struct {
		change func(map[string]any)
		ok     bool
	}{
		"as it is":     {func(map[string]any) {}, true},
		"a new key":    {func(d map[string]any) { d["new"] = 1 }, true},
		"other format": {func(d map[string]any) { d["format"] = "railtally table 2" }, false},
		"no level":     {func(d map[string]any) { delete(d, "level") }, false},
		"odd type":     {func(d map[string]any) { d["columns"].([]any)[0].(map[string]any)["type"] = "colour" }, false},
		"odd value":    {func(d map[string]any) { d["rows"] = []any{map[string]any{"a": []any{}}} }, false},
	} {
		d := good()
		c.change(d)
		if err := validate(t, s, d); (err == nil) != c.ok {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := schema.Text("nonesuch"); err == nil || !strings.Contains(err.Error(), "tally") {
		t.Errorf("%v", err)
	}
}
