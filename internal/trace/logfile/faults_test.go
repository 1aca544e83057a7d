package logfile

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
)

func TestNotALog(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	noise := make([]byte, 5000)
	for i := range noise {
		noise[i] = byte(rng.Uint32())
	}
	for name, c := range map[string]struct{ text, want string }{
		"empty":          {"", "the file is empty"},
		"binary":         {string(noise), "not a text file"},
		"zeros":          {strings.Repeat("\x00", 300), "not a text file"},
		"prose":          {"There is nothing to measure here.\nNot a single figure.\n", "no row of numbers"},
		"blank":          {"\n\n\n", "no row of numbers"},
		"header only":    {"t (s),I (A)\n", "no row of numbers"},
		"one long line":  {strings.Repeat("1", HeadBytes+10), "no line end"},
		"comma twice":    {"Zeit,Strom 1,Strom 2\n" + strings.Repeat("01.11.2017 00:00:02,0,02375,0,19375\n", 9), "both separate fields and mark decimals"},
		"decimal commas": {strings.Repeat("0,02375,0,19375\n", 9), "both separate fields and mark decimals"},
	} {
		_, _, err := Detect(strings.NewReader(c.text), Hints{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if _, _, err := Detect(iotest.ErrReader(errors.New("disk gone")), Hints{}); err == nil || !strings.Contains(err.Error(), "disk gone") {
		t.Error(err)
	}
}

// TestCutAtEveryByte cuts each sample log at every byte: there is no panic, and what is read is a prefix
// of the whole, every value whole.
func TestCutAtEveryByte(t *testing.T) {
	for _, file := range []string{"02_tab_units_row.txt", "01_semicolon_decimal_comma.csv", "06_utf16le_ampm.txt", "09_long_mixed_rates.csv"} {
		data, err := os.ReadFile("testdata/" + file)
		if err != nil {
			t.Fatal(err)
		}
		whole, _, err := Detect(bytes.NewReader(data), Hints{})
		if err != nil {
			t.Fatal(err)
		}
		full, err := Load(context.Background(), bytes.NewReader(data), &whole.Profile, Options{Workers: 1})
		if err != nil {
			t.Fatal(err)
		}
		cuts := 0
		for n := len(data) - 1; n > len(data)*3/5; n -= 2 + n%5 {
			Detect(bytes.NewReader(data[:n]), Hints{})
			log, err := Load(context.Background(), bytes.NewReader(data[:n]), &whole.Profile, Options{Workers: 1})
			if err != nil {
				t.Fatalf("%s cut at %d: %v", file, n, err)
			}
			if log.Summary.Cut {
				cuts++
			}
			for k, s := range log.Series {
				for i, v := range s.V {
					if w := full.Series[k]; v != w.V[i] || s.T[i] != w.T[i] {
						t.Fatalf("%s cut at %d: value %d of %s is %v at %v, was %v at %v", file, n, i, s.Name, v, s.T[i], w.V[i], w.T[i])
					}
				}
			}
		}
		if cuts == 0 {
			t.Errorf("%s: no cut is told", file)
		}
	}
}

// TestBadLines: what is odd is counted, told with its line, and costs nothing else.
func TestBadLines(t *testing.T) {
	text := table8("t (s),U (V),I (A)\n", "#,1.#,2.#\n") + "8,oops,2.8\n9,1.9\n10,1.0,2.0,3.0,4.0\nnonsense\n# a comment\n11,1.1,2.1\n"
	d, log := load(t, text, Hints{})
	s := log.Summary
	if s.Rows != 12 || s.Unreadable != 1 || s.Short != 1 || s.Extra != 1 || s.Skipped > 2 || s.Skipped < 1 {
		t.Fatalf("%+v\n%+v", s, d.Profile)
	}
	lines := map[int]string{10: "oops", 11: "2 of 3 fields", 12: "more than 3 fields", 13: "nonsense"}
	for _, r := range s.Remarks {
		if w, ok := lines[r.Line]; ok && strings.Contains(r.What, w) {
			delete(lines, r.Line)
		}
	}
	if len(lines) > 0 {
		t.Errorf("not told: %v in %+v", lines, s.Remarks)
	}
	if u := log.Channel("U"); u.Len() != 12 || u.V[8] == u.V[8] {
		t.Errorf("%v", u.V)
	}
}

type failingSink struct{ after int64 }

var errFull = errors.New("disk full")

func (f failingSink) Take(b *Batch) error {
	if b.FirstRow >= f.after {
		return errFull
	}
	return nil
}

func TestImportEnds(t *testing.T) {
	log := benchLog(60_000)
	d, _, err := Detect(bytes.NewReader(log), Hints{})
	if err != nil {
		t.Fatal(err)
	}
	p := &d.Profile
	sum, err := Import(context.Background(), bytes.NewReader(log), p, Options{}, failingSink{15_000})
	if !errors.Is(err, errFull) || sum == nil || sum.Rows == 0 || sum.Rows >= 60_000 {
		t.Errorf("full disk: %v, %+v", err, sum.Rows)
	}
	ctx, cancel := context.WithCancel(context.Background())
	sum, err = Import(ctx, bytes.NewReader(log), p, Options{Progress: func(_, rows int64) {
		if rows > 0 {
			cancel()
		}
	}}, nil)
	if !errors.Is(err, context.Canceled) || sum.Rows == 0 || sum.Rows == 60_000 {
		t.Errorf("cancelled: %v, %d rows", err, sum.Rows)
	}
	broken := io.MultiReader(bytes.NewReader(log[:2_000_000]), iotest.ErrReader(errors.New("unplugged")))
	sum, err = Import(context.Background(), broken, p, Options{}, nil)
	if err == nil || !strings.Contains(err.Error(), "unplugged") || !strings.Contains(err.Error(), "line") || sum.Rows < 30_000 {
		t.Errorf("broken reader: %v, %d rows", err, sum.Rows)
	}
	long := append(append([]byte{}, log[:100_000]...), bytes.Repeat([]byte{'7'}, 2*blockSize)...)
	sum, err = Import(context.Background(), bytes.NewReader(long), p, Options{}, nil)
	if err == nil || !strings.Contains(err.Error(), "longer than") || sum.Rows == 0 {
		t.Errorf("long line: %v, %d rows", err, sum.Rows)
	}
	sum, err = Import(context.Background(), strings.NewReader("a\nb\nc\n"), p, Options{}, nil)
	if err == nil || sum.Rows != 0 {
		t.Errorf("another file: %v", err)
	}
	one := iotest.OneByteReader(bytes.NewReader(log[:20_000]))
	if sum, err = Import(context.Background(), one, p, Options{}, nil); err != nil || sum.Rows < 300 {
		t.Errorf("byte by byte: %v", err)
	}
}

// TestWorkersAgree: the result does not depend on how many blocks are parsed at the same time.
func TestWorkersAgree(t *testing.T) {
	log := benchLog(40_000)
	d, _, err := Detect(bytes.NewReader(log), Hints{})
	if err != nil {
		t.Fatal(err)
	}
	var first *Log
	for _, w := range []int{1, 2, 5} {
		got, err := Load(context.Background(), bytes.NewReader(log), &d.Profile, Options{Workers: w})
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
		} else if !reflect.DeepEqual(first, got) {
			t.Errorf("%d workers differ", w)
		}
	}
	if first.Summary.Rows != 40_000 || first.Series[0].Len() != 40_000 {
		t.Errorf("%d rows", first.Summary.Rows)
	}
}

// endless hands out the same rows until n bytes are through.
type endless struct {
	rows []byte
	at   int
	left int
}

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	n := copy(p, e.rows[e.at:])
	e.at = (e.at + n) % len(e.rows)
	e.left -= n
	return n, nil
}

// TestMemoryIsBounded: a log of 96 MB is read in less memory than its columns would take.
func TestMemoryIsBounded(t *testing.T) {
	log := benchLog(1000)
	d, _, err := Detect(bytes.NewReader(log), Hints{})
	if err != nil {
		t.Fatal(err)
	}
	var most uint64
	var m runtime.MemStats
	watch := func(bytes, _ int64) {
		if bytes>>20%16 == 0 {
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse)
		}
	}
	r := &endless{rows: log[bytes.IndexByte(log, '\n')+1:], left: 96 << 20}
	sum, err := Import(context.Background(), io.MultiReader(bytes.NewReader(log), r), &d.Profile, Options{Progress: watch}, nil)
	if err != nil || sum.Rows < 1_400_000 {
		t.Fatalf("%v, %d rows", err, sum.Rows)
	}
	if most == 0 || most > 64<<20 {
		t.Errorf("%d MB in use", most>>20)
	}
}

func TestProfileIsKept(t *testing.T) {
	first, _ := load(t, "Serial,0001\n"+table8("t (s),CH1 (V),CH2 (V)\n", "#,1.#,0.#\n"), Hints{})
	first.Profile.Columns[2].Gain, first.Profile.Columns[2].As, first.Profile.Columns[2].Name = 10, "A", "core"
	text, err := json.Marshal(first.Profile)
	if err != nil {
		t.Fatal(err)
	}
	var kept Profile
	if err := json.Unmarshal(text, &kept); err != nil || !reflect.DeepEqual(kept, first.Profile) {
		t.Fatalf("%v\n%+v\n%+v", err, kept, first.Profile)
	}
	// The same kind of file with another preamble.
	later := "Serial,0002\nRemark,hot day\n\n" + table8("t (s),CH1 (V),CH2 (V)\n", "#,2.#,0.#\n")
	d, r, err := Detect(strings.NewReader(later), Hints{})
	if err != nil || !d.Profile.Adopt(&kept) {
		t.Fatal(err, d.Profile.Fingerprint(), kept.Fingerprint())
	}
	log, err := Load(context.Background(), r, &d.Profile, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if c := log.Channel("core"); c == nil || c.Unit.Symbol() != "A" || c.V[3] != 3 {
		t.Errorf("%+v", c)
	}
	other, _ := load(t, table8("t (s),CH1 (V),CH3 (V)\n", "#,1.#,0.#\n"), Hints{})
	if other.Profile.Adopt(&kept) {
		t.Error("a file of another kind is taken for the same")
	}
}

func TestHints(t *testing.T) {
	block, err := os.ReadFile("testdata/10_headerless_readings.txt")
	if err != nil {
		t.Fatal(err)
	}
	if _, log := load(t, string(block), Hints{Layout: Wide}); len(log.Series) != 10 || log.Summary.Rows != 20 {
		t.Errorf("%d series", len(log.Series))
	}
	text := table8("a,b,c\n", "#,1.#,2.#\n")
	if d, _ := load(t, text, Hints{Time: 1}); d.Profile.Columns[0].Role != Time {
		t.Errorf("%+v", d.Profile)
	}
	if d, _ := load(t, table8("t,b,c\n", "#,1.#,2.#\n"), Hints{Time: -1}); d.Profile.Time.Kind != NoTime {
		t.Errorf("%+v", d.Profile)
	}
	if d, log := load(t, text, Hints{FirstData: 4}); d.Profile.FirstData != 4 || log.Summary.Rows != 6 {
		t.Errorf("%+v", d.Profile)
	}
	if d, _ := load(t, text, Hints{Header: -1}); d.Profile.Header != 0 {
		t.Errorf("%+v", d.Profile)
	}
	if _, log := load(t, table8("", "#;1,#\n"), Hints{Delimiter: ";", Decimal: ","}); len(log.Series) != 1 {
		t.Errorf("%d series", len(log.Series))
	}
}

func TestProfileRefused(t *testing.T) {
	good, _ := load(t, table8("t (s),U (V),I (A)\n", "#,1.#,2.#\n"), Hints{})
	for name, change := range map[string]func(*Profile){
		"delimiter":   func(p *Profile) { p.Delimiter = "" },
		"number":      func(p *Profile) { p.Delimiter = "1" },
		"decimal":     func(p *Profile) { p.Decimal = "x" },
		"same marks":  func(p *Profile) { p.Decimal = "," },
		"no columns":  func(p *Profile) { p.Columns = nil },
		"no values":   func(p *Profile) { p.Columns = p.Columns[:1] },
		"two times":   func(p *Profile) { p.Columns[1].Role = Time },
		"unit":        func(p *Profile) { p.Columns[1].Unit = "furlong" },
		"role":        func(p *Profile) { p.Columns[1].Role = "king" },
		"as":          func(p *Profile) { p.Columns[1].As = "A" },
		"as prefixed": func(p *Profile) { p.Columns[1].Gain, p.Columns[1].As = 2, "mA" },
		"time unit":   func(p *Profile) { p.Time.Unit = "V" },
		"time kind":   func(p *Profile) { p.Time.Kind = "sundial" },
		"order":       func(p *Profile) { p.Time.Kind, p.Time.Order = DateTime, "DYM" },
		"zone":        func(p *Profile) { p.Time.Zone = "noon" },
		"first line":  func(p *Profile) { p.FirstData = 0 },
		"header":      func(p *Profile) { p.Header = 5 },
		"layout":      func(p *Profile) { p.Layout = "round" },
		"long":        func(p *Profile) { p.Layout = Long },
		"unit column": func(p *Profile) { p.Columns[1].UnitColumn = 9 },
		"encoding":    func(p *Profile) { p.Encoding = "ebcdic" },
	} {
		p := good.Profile
		p.Columns = append([]Column(nil), p.Columns...)
		change(&p)
		if _, err := Import(context.Background(), strings.NewReader("0,1,2\n"), &p, Options{}, nil); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// FuzzImport: whatever the bytes, detection and import end without a panic, and a log that is imported
// has times and values in equal number.
func FuzzImport(f *testing.F) {
	for _, name := range []string{"01_semicolon_decimal_comma.csv", "03_iso8601_quoted.csv", "04_epoch_overload.csv", "05_prefixed_values.csv",
		"06_utf16le_ampm.txt", "07_scope_preamble.csv", "08_missing_duplicate.csv", "09_long_mixed_rates.csv", "10_headerless_readings.txt"} {
		data, err := os.ReadFile("testdata/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data[:min(len(data), 600)])
	}
	f.Add([]byte("t I\n1 2\n\"3 4\n5\r6\n-\n"))
	f.Add([]byte("a;b\n00:00;1\n23:59;2\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, r, err := Detect(bytes.NewReader(data), Hints{})
		if err != nil {
			return
		}
		d.Preview(5)
		log, err := Load(context.Background(), r, &d.Profile, Options{Workers: 1})
		if err != nil {
			return
		}
		for _, s := range log.Series {
			if len(s.T) != len(s.V) {
				t.Fatalf("%d times for %d values", len(s.T), len(s.V))
			}
		}
	})
}

// FuzzStamp: no text makes the reader of times panic, and a date it takes is one of the calendar.
func FuzzStamp(f *testing.F) {
	for _, s := range []string{"2026-03-05T14:00:00.250Z", "3/4/2026 11:59:30 AM", "05.03.2026 14:00:00,000", "Mar 5, 2026", "20260305T140000", "30:00:01", "-00:00:01.5", "12:00 PM"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, order := range []string{YMD, DMY, MDY} {
			if st, ok := parseStamp([]byte(s), order); ok && (st.nsec < 0 || st.nsec >= 1e9) {
				t.Fatalf("%q: %+v", s, st)
			}
		}
	})
}
