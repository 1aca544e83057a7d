package fit

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// nistSet is one data set of testdata/certified.json: the NIST/ITL Statistical
// Reference Datasets with the certified values as printed.
type nistSet struct {
	Kind   string   `json:"kind"`
	File   string   `json:"file"`
	N      int      `json:"n"`
	Start  int      `json:"data_starts_at_line"`
	Start1 []string `json:"start1"`
	Start2 []string `json:"start2"`

	Certified struct {
		Mean string `json:"mean"`
		SD   string `json:"sd_nminus1"`
		R1   string `json:"autocorr_lag1"`

		DFBetween int    `json:"df_between"`
		DFWithin  int    `json:"df_within"`
		SSBetween string `json:"ss_between"`
		SSWithin  string `json:"ss_within"`
		MSBetween string `json:"ms_between"`
		MSWithin  string `json:"ms_within"`
		F         string `json:"F"`
		R2        string `json:"r_squared"`
		ResSD     string `json:"residual_sd"`

		Parameters []struct {
			Name     string `json:"name"`
			Estimate string `json:"estimate"`
			SD       string `json:"sd"`
		} `json:"parameters"`
		SSRegression string `json:"ss_regression"`
		SSResidual   string `json:"ss_residual"`
		DFRegression int    `json:"df_regression"`
		DFResidual   int    `json:"df_residual"`
		RSS          string `json:"rss"`
		DF           int    `json:"df"`
	} `json:"certified"`
}

func nistSets(t testing.TB) map[string]nistSet {
	t.Helper()
	var doc struct {
		Datasets map[string]nistSet `json:"datasets"`
	}
	readJSON(t, "certified.json", &doc)
	return doc.Datasets
}

func readJSON(t testing.TB, name string, v any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		t.Fatal(err)
	}
}

// words returns the data part of a set, a row of words per line.
func (s nistSet) words(t testing.TB) [][]string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", s.File))
	if os.IsNotExist(err) {
		if b, err = os.ReadFile(filepath.Join("testdata", s.File+".gz")); err == nil {
			var z *gzip.Reader
			if z, err = gzip.NewReader(bytes.NewReader(b)); err == nil {
				b, err = io.ReadAll(z)
			}
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	var out [][]string
	sc := bufio.NewScanner(bytes.NewReader(b))
	for line := 1; sc.Scan(); line++ {
		if f := strings.Fields(sc.Text()); line >= s.Start && len(f) > 0 {
			out = append(out, f)
		}
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	if s.N != 0 && len(out) != s.N {
		t.Fatalf("%s: %d rows, want %d", s.File, len(out), s.N)
	}
	return out
}

// columns returns the data as numbers, by column.
func (s nistSet) columns(t testing.TB) [][]float64 {
	t.Helper()
	var out [][]float64
	for _, row := range s.words(t) {
		if out == nil {
			out = make([][]float64, len(row))
		}
		for j, w := range row {
			out[j] = append(out[j], num(t, w))
		}
	}
	return out
}

func num(t testing.TB, s string) float64 {
	t.Helper()
	if s == "Infinity" {
		return math.Inf(1)
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// lre is the log relative error −log10|(x−c)/c| of NIST's comparisons, the
// number of agreeing digits, capped at 15; for c = 0 the log absolute error.
func lre(x, c float64) float64 {
	if x == c {
		return 15
	}
	e := math.Abs(x - c)
	if c != 0 {
		e /= math.Abs(c)
	}
	if math.IsNaN(e) || math.IsInf(e, 0) {
		return math.Inf(-1)
	}
	return math.Min(15, -math.Log10(e))
}

// wantDigits fails when fewer than want digits of certified value c are met.
// Certified values are printed with 15 digits (11 for nonlinear sets).
func wantDigits(t *testing.T, what string, x, c, want float64) float64 {
	t.Helper()
	d := lre(x, c)
	if !(d >= want) {
		t.Errorf("%s = %.15g, certified %.15g: %.1f digits, want %.1f", what, x, c, d, want)
	}
	return d
}

func wantInt(t *testing.T, what string, got, want int) {
	t.Helper()
	if got != want {
		t.Errorf("%s = %d, want %d", what, got, want)
	}
}

// near fails when got differs from want by more than rel·|want|.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.12g, want %.12g within %.1g", what, got, want, rel)
	}
}

// decimal parses a decimal exactly and takes off an exact origin before
// rounding, as a careful user of data with many leading digits would.
func decimal(t testing.TB, s string, origin int64) float64 {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("not a number: %q", s)
	}
	x, _ := r.Sub(r, new(big.Rat).SetInt64(origin)).Float64()
	return x
}
