package scpi

import (
	"bufio"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// The three number forms are those of IEEE 488.2 (NR1, NR2, NR3); 9.9E37 and
// 9.91E37 are infinity and not-a-number of SCPI-1999 as the header of an
// open-source parser has them; decorated elements are from memory.
func TestReadings(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		text string
		more []string
		want []float64
	}{
		{text: "1", want: []float64{1}},
		{text: "-113", want: []float64{-113}},
		{text: "+0", want: []float64{0}},
		{text: "-12.5", want: []float64{-12.5}},
		{text: "+1.04987300E+00", want: []float64{1.049873}},
		{text: "+1.049E+00,+1.050E+00", want: []float64{1.049, 1.05}},
		{text: " 4.0211e-1 \r", want: []float64{0.40211}},
		{text: "+9.9E37", want: []float64{inf}},
		{text: "+9.90000000E+37", want: []float64{inf}},
		{text: "-9.9E+37", want: []float64{-inf}},
		{text: "9.91E37", want: []float64{nan}},
		{text: "9.91000000E+37,1.0,-9.90000000E+37", want: []float64{nan, 1, -inf}},
		{text: "1E400", want: []float64{inf}},
		{text: "OL", want: []float64{inf}},
		{text: "-OVLD", want: []float64{-inf}},
		{text: "+ OL", want: []float64{inf}},
		{text: "NAN", want: []float64{nan}},
		{text: "NINF", want: []float64{-inf}},
		{text: "too much", more: []string{"Too Much"}, want: []float64{inf}},
		{text: "-1E9", more: []string{"1E9"}, want: []float64{-inf}},
		{text: "+1.0498E+00VDC,+12.34SECS,+00005RDNG#", want: []float64{1.0498}},
		{text: "23.4C", want: []float64{23.4}},
	} {
		got, err := Readings(c.text, c.more...)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if d := cmp.Diff(c.want, got, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%q: %s", c.text, d)
		}
	}
	for text, says := range map[string]string{
		"":             "empty",
		"  ":           "empty",
		"volts":        "no reading",
		"1,,2":         "element 2",
		"1,049":        "", // two readings: the mark is always a point, so this is caught by counting
		"4.02mV":       "unit",
		"--1":          "no reading",
		"1.2.3":        "unit",
		"12SECS":       "before any reading",
		"\x00\xff\x01": "no reading",
		"+1.0E":        "unit",
	} {
		got, err := Readings(text)
		if says == "" {
			if err != nil || len(got) != 2 {
				t.Errorf("%q: %v, %v", text, got, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, %v; want an error with %q", text, got, err, says)
		}
	}
}

func TestIdent(t *testing.T) {
	for text, want := range map[string]Ident{
		"MADE UP,M-45,0017,1.02-3":  {"MADE UP", "M-45", "0017", "1.02-3"},
		`"Made up, M, 0, 1.0,2.0" `: {"Made up", "M", "", "1.0,2.0"},
		"MAKER,MODEL":               {"MAKER", "MODEL", "", ""},
	} {
		got, err := ParseIdent(text)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "0,0,0,0", "a\x00b,c", strings.Repeat("x", 400)} {
		if id, err := ParseIdent(text); err == nil {
			t.Errorf("%q was taken as %+v", text, id)
		}
	}
}

// Numbers and texts: the list of an open-source parser library.
func TestFault(t *testing.T) {
	for text, want := range map[string]Fault{
		`0,"No error"`:             {0, "No error"},
		`+0,"No error"`:            {0, "No error"},
		`-113,"Undefined header"`:  {-113, "Undefined header"},
		`-222,"Out of ""range"""`:  {-222, `Out of "range"`},
		`-350,Queue overflow`:      {-350, "Queue overflow"},
		`-410`:                     {-410, ""},
		` 17 , "own; with detail"`: {17, "own; with detail"},
	} {
		got, err := ParseFault(text)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "none", "40000,\"x\"", "1.5,\"x\""} {
		if f, err := ParseFault(text); err == nil {
			t.Errorf("%q was taken as %+v", text, f)
		}
	}
	if c := (Fault{Code: -113}).Class(); !strings.Contains(c, "not understand") {
		t.Error(c)
	}
}

func TestParseMessage(t *testing.T) {
	for line, want := range map[string][]Unit{
		"":      nil,
		"*IDN?": {{Header: "*IDN", Query: true}},
		"VOLT:DC:RANG 1;NPLC 10": { // the path stays, less its last node (from memory)
			{Header: "VOLT:DC:RANG", Args: []string{"1"}}, {Header: "VOLT:DC:NPLC", Args: []string{"10"}}},
		"volt:dc:nplc 1;*cls;:syst:err?": {
			{Header: "VOLT:DC:NPLC", Args: []string{"1"}}, {Header: "*CLS"}, {Header: "SYST:ERR", Query: true}},
		` SENS:FUNC "VOLT:DC" ; READ? `: {
			{Header: "SENS:FUNC", Args: []string{"VOLT:DC"}}, {Header: "SENS:READ", Query: true}},
		`LEAD 'a;b',"c,d" , 3`: {{Header: "LEAD", Args: []string{"a;b", "c,d", "3"}}},
	} {
		got, err := ParseMessage(line)
		if err != nil {
			t.Errorf("%q: %v", line, err)
			continue
		}
		if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%q: %s", line, d)
		}
	}
	for _, line := range []string{"::", "?", "VOLT::DC", "*", "ä?", "A-B"} {
		if u, err := ParseMessage(line); err == nil {
			t.Errorf("%q was taken as %+v", line, u)
		}
	}
}

// The long form or the short form, nothing between.
func TestMatch(t *testing.T) {
	for header, want := range map[string]bool{
		"VOLT:NPLC": true, "SENS:VOLT:DC:NPLC": true, "SENSE:VOLTAGE:NPLCYCLES": true, "VOLTAGE:DC:NPLC": true,
		"VOLTA:NPLC": false, "SENS:VOLT:AC:NPLC": false, "VOLT": false, "NPLC": false,
	} {
		if Match("[SENSe:]VOLTage[:DC]:NPLCycles", header) != want {
			t.Errorf("%s: want %v", header, want)
		}
	}
}

func TestSourcing(t *testing.T) {
	for message, want := range map[string]bool{
		"READ?": false, "*IDN?": false, "OUTP ON": true, "VOLT:RANG 1;:OUTPUT1:STAT ON": true, "SOUR:VOLT 5": true,
		"*RST": true, "*CLS": false, "CAL:STR": true, "OUTP?": false, "SENS:VOLT:NPLC 1": false, "INST:NSEL 2": true,
	} {
		if header, is := Sourcing(message); is != want || is && header == "" {
			t.Errorf("%q: %q, %v", message, header, is)
		}
	}
}

func TestReadResponse(t *testing.T) {
	r := bufio.NewReader(strings.NewReader("1.0\r\n\n#15HELLO\n#211a\nb,c;d,e\nf\r\nhalf"))
	for _, want := range []string{"1.0", "", "HELLO", "a\nb,c;d,e\nf"} {
		got, err := ReadResponse(r, 100)
		if err != nil || got != want {
			t.Errorf("%q, %v; want %q", got, err, want)
		}
	}
	if got, err := ReadResponse(r, 100); !errors.Is(err, io.ErrUnexpectedEOF) || got != "half" {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := ReadResponse(r, 100); !errors.Is(err, io.EOF) {
		t.Error(err)
	}
	for text, want := range map[string]error{
		strings.Repeat("x", 5000): ErrTooLong,
		"#9999999999\n":           ErrTooLong,
		"#0abc\n":                 nil, "#1xab\n": nil, "#12abc\n": nil,
	} {
		if got, err := ReadResponse(bufio.NewReaderSize(strings.NewReader(text), 16), 1000); err == nil || want != nil && !errors.Is(err, want) {
			t.Errorf("%.20q: %.20q, %v", text, got, err)
		}
	}
}

// Whatever comes back: no panic, and what is called a reading is either finite
// or one of the three that stand for none.
func FuzzReadings(f *testing.F) {
	for _, s := range []string{"1", "+9.9E37,OL", "9.91E+37", "+1.0V,+2SECS", "#15HELLO\n", `-113,"Un""x"`, "A,B,C,D", "VOLT:RANG 1;NPLC 2", "1e999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if got, err := Readings(text, "1E9"); err == nil {
			if len(got) == 0 {
				t.Fatal("no reading and no error")
			}
			for _, x := range got {
				if !math.IsNaN(x) && !math.IsInf(x, 0) && math.Abs(x) >= infinity {
					t.Fatalf("%q gave %g", text, x)
				}
			}
		}
		if id, err := ParseIdent(text); err == nil && id == (Ident{}) {
			t.Fatal("an empty identification")
		}
		if _, err := ParseFault(text); err == nil && !strings.ContainsAny(text, "0123456789") {
			t.Fatal("a fault without a number")
		}
		if units, err := ParseMessage(text); err == nil {
			for _, u := range units {
				if u.Header == "" || strings.HasPrefix(u.Header, ":") {
					t.Fatalf("%q: header %q", text, u.Header)
				}
			}
		}
		Sourcing(text)
		got, err := ReadResponse(bufio.NewReaderSize(strings.NewReader(text), 16), 64)
		if err == nil && len(got) > 64 {
			t.Fatalf("%d bytes", len(got))
		}
	})
}
