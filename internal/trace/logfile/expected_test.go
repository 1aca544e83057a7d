package logfile

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// expected is testdata/expected.json: synthetic logs, their parse computed by the generator and parsed
// again by a second script.
type expected struct {
	Tol   float64 `json:"tolerance_rel"`
	Files []struct {
		File, SHA256, Encoding, Newline, Delimiter, Decimal, Comment string
		BOM                                                          bool
		Preamble                                                     int   `json:"preamble_lines"`
		Header                                                       *int  `json:"header_line"`
		Units                                                        *int  `json:"units_line"`
		FirstData                                                    int   `json:"first_data_line"`
		Rows                                                         int64 `json:"data_rows"`
		Time                                                         struct {
			Column      *string
			Kind        string
			First, Last json.RawMessage
			Duration    *float64 `json:"duration_s"`
			Median      *float64 `json:"median_step_s"`
			Largest     *float64 `json:"largest_step_s"`
			Duplicates  int64
			Backward    int64 `json:"backward_steps"`
		}
		Columns []struct {
			Name      string
			Unit      string `json:"unit_in_file"`
			SI        string `json:"si_unit"`
			N         int64
			Valid     int64
			Missing   int64
			Over      int64   `json:"overload_pos"`
			Under     int64   `json:"overload_neg"`
			First     float64 `json:"first_valid"`
			Last      float64 `json:"last_valid"`
			Min, Max  float64
			Mean      float64
			UserScale string   `json:"user_scale"`
			Rate      *float64 `json:"rate_hz"`
		}
	}
}

func readExpected(t *testing.T) expected {
	t.Helper()
	text, err := os.ReadFile("testdata/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var e expected
	if err := json.Unmarshal(text, &e); err != nil {
		t.Fatal(err)
	}
	if len(e.Files) != 10 {
		t.Fatalf("%d files expected", len(e.Files))
	}
	return e
}

// settle does to a profile what a person must: the clamp's scale of file 07, the unit of file 10.
func settle(p *Profile, file string) {
	switch file[:2] {
	case "07":
		p.Columns[2].Gain, p.Columns[2].As = 10, "A" // 100 mV/A
	case "10":
		for i := range p.Columns {
			p.Columns[i].Unit = "V"
		}
	}
}

func TestSampleLogs(t *testing.T) {
	e := readExpected(t)
	for _, want := range e.Files {
		t.Run(want.File, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata", want.File))
			if err != nil {
				t.Fatal(err)
			}
			if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != want.SHA256 {
				t.Fatal("the file is not the one described")
			}
			d, r, err := Detect(bytes.NewReader(data), Hints{})
			if err != nil {
				t.Fatal(err)
			}
			p := &d.Profile
			encoding := want.Encoding
			if encoding == "us-ascii" {
				encoding = UTF8 // which contains it
			}
			line := func(n *int) int {
				if n == nil {
					return 0
				}
				return *n
			}
			if p.Encoding != encoding || d.BOM != want.BOM || p.Newline != want.Newline || p.Decimal != want.Decimal ||
				p.Delimiter != strings.ReplaceAll(want.Delimiter, `\t`, "\t") || p.Comment != want.Comment ||
				len(d.Preamble) != want.Preamble || p.Header != line(want.Header) || p.Units != line(want.Units) || p.FirstData != want.FirstData {
				t.Errorf("profile %+v, BOM %v, %d lines of preamble; want %+v", p, d.BOM, len(d.Preamble), want)
			}
			settle(p, want.File)
			sum, err := Import(context.Background(), r, p, Options{}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if sum.Rows != want.Rows || sum.Skipped+sum.Unreadable+sum.Short+sum.Extra != 0 || sum.Cut {
				t.Errorf("%d rows, want %d; %+v", sum.Rows, want.Rows, sum.Remarks)
			}
			near := func(what string, got, want float64) {
				t.Helper()
				if math.Abs(got-want) > e.Tol*math.Abs(want) {
					t.Errorf("%s is %.12g, want %.12g", what, got, want)
				}
			}
			if want.Time.Column != nil {
				if k := p.column(Time); k < 0 || strings.TrimSuffix(p.Columns[k].Header, "_ms") != strings.TrimSuffix(*want.Time.Column, "_ms") {
					t.Errorf("time column %d, want %q", k, *want.Time.Column)
				}
				near("duration", sum.Last-sum.First, *want.Time.Duration)
				checkEnd(t, "first", want.Time.First, sum, sum.First)
				checkEnd(t, "last", want.Time.Last, sum, sum.Last)
				if strings.Contains(want.Time.Kind, "UTC") != (sum.ZoneKnown && !sum.Start.IsZero()) {
					t.Errorf("zone known: %v, want %s", sum.ZoneKnown, want.Time.Kind)
				}
			} else if p.Time.Kind != NoTime {
				t.Errorf("time %v", p.Time)
			}
			if want.Time.Median != nil {
				near("median step", sum.Steps.Median, *want.Time.Median)
				near("largest step", sum.Steps.Largest, *want.Time.Largest)
				if sum.Steps.Duplicates != want.Time.Duplicates || sum.Steps.Backward != want.Time.Backward {
					t.Errorf("%d duplicates, %d backward", sum.Steps.Duplicates, sum.Steps.Backward)
				}
			}
			if len(sum.Channels) != len(want.Columns) {
				t.Fatalf("%d channels, want %d", len(sum.Channels), len(want.Columns))
			}
			for k, w := range want.Columns {
				c := sum.Channels[k]
				if c.Name != w.Name || c.Samples() != w.N || c.N != w.Valid || c.Missing != w.Missing || c.Over != w.Over || c.Under != w.Under {
					t.Errorf("channel %+v, want %+v", c, w)
				}
				if si := strings.TrimSuffix(strings.TrimPrefix(w.SI, "(user: "), ")"); c.Unit.Symbol() != si {
					t.Errorf("%s is in %q, want %q", c.Name, c.Unit.Symbol(), si)
				}
				if col := p.Columns[c.Column]; w.Unit != "in value" && w.Unit != "none" && p.Layout != Long && col.Unit != w.Unit || (w.Unit == "in value") != col.InValue {
					t.Errorf("%s: unit in file %q, want %q", c.Name, col.Unit, w.Unit)
				}
				near(w.Name+" first", c.Moments.First, w.First)
				near(w.Name+" last", c.Moments.Last, w.Last)
				near(w.Name+" least", c.Min, w.Min)
				near(w.Name+" greatest", c.Max, w.Max)
				near(w.Name+" mean", c.Mean(), w.Mean)
				if w.Rate != nil {
					near(w.Name+" rate", 1/c.Steps.Median, *w.Rate)
				}
			}
		})
	}
}

// checkEnd compares the first or last time of a log, a number or a date.
func checkEnd(t *testing.T, what string, want json.RawMessage, sum *Summary, got float64) {
	t.Helper()
	var text string
	if json.Unmarshal(want, &text) == nil {
		text = strings.TrimSuffix(text, "Z")
		w, err := time.Parse("2006-01-02T15:04:05.999999999", text)
		if err != nil {
			t.Fatal(err)
		}
		if at := sum.Start.Add(time.Duration(math.Round(got * 1e9))); !at.Equal(w) {
			t.Errorf("%s time is %v, want %v", what, at, w)
		}
		return
	}
	var x float64
	if err := json.Unmarshal(want, &x); err != nil {
		t.Fatal(err)
	}
	if math.Abs(got-x) > 1e-12*max(1, math.Abs(x)) {
		t.Errorf("%s time is %v, want %v", what, got, x)
	}
}

// TestSampleReports checks what expected.json says must be told of each file.
func TestSampleReports(t *testing.T) {
	for _, c := range []struct {
		file     string
		asks     []string // questions
		findings []string
		notes    []string
	}{
		{"01_semicolon_decimal_comma.csv", []string{"zone"}, []string{"preamble", "date order"}, []string{"the time zone is not known"}},
		{"03_iso8601_quoted.csv", nil, nil, []string{"mean current is negative"}},
		{"04_epoch_overload.csv", nil, nil, []string{"current: 8 overloads; the mean of the rest is biased", "current: 2 missing"}},
		{"05_prefixed_values.csv", nil, []string{"unit of Current"}, []string{"row 8, 1.200 kA, is out of line"}},
		{"06_utf16le_ampm.txt", []string{"date order", "zone"}, nil, nil},
		{"07_scope_preamble.csv", nil, []string{"column 4", "interval", "unit of CH1"}, nil},
		{"08_missing_duplicate.csv", []string{"zone"}, nil, []string{"1 row with the time of the row before", "1 step back in time, first at row 32", "gap of 21 s before row 46", "V: 2 missing", "I: 7 missing"}},
		{"09_long_mixed_rates.csv", nil, []string{"layout"}, []string{"U1: 11 values, one each 1 s", "I1: 101 values, one each 0.1 s"}},
		{"10_headerless_readings.txt", []string{"time", "layout", "unit of reading"}, nil, []string{"reading: 1 overload"}},
	} {
		data, err := os.ReadFile(filepath.Join("testdata", c.file))
		if err != nil {
			t.Fatal(err)
		}
		d, r, err := Detect(bytes.NewReader(data), Hints{})
		if err != nil {
			t.Fatal(err)
		}
		sum, err := Import(context.Background(), r, &d.Profile, Options{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.findings {
			if !d.said(f) {
				t.Errorf("%s: nothing is said of %q", c.file, f)
			}
		}
		for _, f := range c.asks {
			asked := false
			for _, q := range d.Questions() {
				asked = asked || q.Field == f
			}
			if !asked {
				t.Errorf("%s: %q is not asked: %+v", c.file, f, d.Questions())
			}
		}
		for _, n := range c.notes {
			if !strings.Contains(strings.Join(sum.Notes, "\n"), n) {
				t.Errorf("%s: %q is not in %q", c.file, n, sum.Notes)
			}
		}
	}
}

// TestPreambleIsKept checks that what stands before the table is kept.
func TestPreambleIsKept(t *testing.T) {
	data, err := os.ReadFile("testdata/01_semicolon_decimal_comma.csv")
	if err != nil {
		t.Fatal(err)
	}
	d, _, err := Detect(bytes.NewReader(data), Hints{})
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Facts["Messbereich Kanal 2"]; got != "200 mV" {
		t.Errorf("range of channel 2 is %q", got)
	}
	v := d.Preview(3)
	if len(v.Rows) != 3 || v.Lines[0] != 10 || v.Rows[0][2] != "1,04860" {
		t.Errorf("preview %+v", v)
	}
	if d.Decimals[2] != 5 {
		t.Errorf("%d decimals", d.Decimals[2])
	}
}
