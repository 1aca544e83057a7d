package gum

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// load decodes a file of testdata, whose README names the sources.
func load(t *testing.T, name string) map[string]any {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var out map[string]any
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// entry returns the element of a list whose key is id.
func entry(t *testing.T, list any, key, id string) map[string]any {
	t.Helper()
	for _, e := range list.([]any) {
		if m := e.(map[string]any); m[key] == id {
			return m
		}
	}
	t.Fatalf("no %s %q in testdata", key, id)
	return nil
}

// dig follows keys into nested objects and list positions.
func dig(t *testing.T, v any, path ...any) any {
	t.Helper()
	for _, p := range path {
		switch p := p.(type) {
		case string:
			m, ok := v.(map[string]any)
			if !ok || m[p] == nil {
				t.Fatalf("testdata has no %v", path)
			}
			v = m[p]
		case int:
			v = v.([]any)[p]
		}
	}
	return v
}

func num(t *testing.T, v any, path ...any) float64 { return dig(t, v, path...).(float64) }

func nums(t *testing.T, v any, path ...any) []float64 {
	var out []float64
	for _, x := range dig(t, v, path...).([]any) {
		out = append(out, x.(float64))
	}
	return out
}

// near checks got within a relative tolerance of want.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, rel)
	}
}

// within checks got within an absolute tolerance of want.
func within(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, abs)
	}
}

// prints checks that got, times unit, prints as a published table does, for
// instance as "0.071".
func prints(t *testing.T, what string, got float64, want string) {
	t.Helper()
	decimals := 0
	for k := range want {
		if want[k] == '.' {
			decimals = len(want) - k - 1
		}
	}
	if s := strconv.FormatFloat(got, 'f', decimals, 64); s != want {
		t.Errorf("%s prints as %s, published %s", what, s, want)
	}
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func result(t testing.TB, v Value) Result {
	t.Helper()
	return must[Result](t)(v.Graph().Result(v))
}

func normal(g *Graph, name string, mean, u float64) Value {
	return g.Input(Input{Name: name, Dist: Normal{mean, u}})
}
