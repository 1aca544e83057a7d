package logfile

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"railtally/internal/quantity"
)

// load detects and imports a log that must be understood.
func load(t *testing.T, text string, h Hints) (*Detection, *Log) {
	t.Helper()
	d, r, err := Detect(strings.NewReader(text), h)
	if err != nil {
		t.Fatalf("%v\n%.200s", err, text)
	}
	log, err := Load(context.Background(), r, &d.Profile, Options{})
	if err != nil {
		t.Fatalf("%v\n%+v", err, d.Profile)
	}
	return d, log
}

// rows repeats a line with numbers filled in, so that a table is long enough to be recognised.
func table8(header, row string) string {
	var b strings.Builder
	b.WriteString(header)
	for i := range 8 {
		b.WriteString(strings.ReplaceAll(row, "#", string(rune('0'+i))))
	}
	return b.String()
}

// TestForms goes through the checklist of how exported logs differ. Means are by hand: # runs from 0 to 7.
func TestForms(t *testing.T) {
	for _, c := range []struct {
		name, text string
		channel    string
		unit       quantity.Unit
		mean       float64
		span       float64
	}{
		{"seconds", table8("t (s),I (A)\n", "#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"milliseconds", table8("time [ms],I [mA]\n", "#00,1.#\n"), "I", quantity.Ampere, 1.35e-3, 0.7},
		{"no header", table8("", "#.5,1.#,8.#\n"), "column 2", quantity.None, 1.35, 7},
		{"blanks", table8("time  Rail current (mA)\n", "  #.0    20#.25\n"), "Rail current", quantity.Ampere, 0.20375, 7},
		{"bars", table8("t|U (V)\n", "#|5.#\n"), "U", quantity.Volt, 5.35, 7},
		{"sep line", "sep=;\n" + table8("t;U (V)\n", "#;5,#\n"), "U", quantity.Volt, 5.35, 7},
		{"trailing delimiter", table8("t;U (V);\r\n", "#;5.#;\r\n"), "U", quantity.Volt, 5.35, 7},
		{"CR only", strings.ReplaceAll(table8("t;U (V)\n", "#;5.#\n"), "\n", "\r"), "U", quantity.Volt, 5.35, 7},
		{"CR CR LF", strings.ReplaceAll(table8("t;U (V)\n", "#;5.#\n"), "\n", "\r\r\n"), "U", quantity.Volt, 5.35, 7},
		{"thousands", table8("t (s),I (mA)\n", "#,\"1,23#.5\"\n"), "I", quantity.Ampere, 1.234, 7},
		{"German thousands", table8("t (s);I (mA)\n", "#;1.23#,5\n"), "I", quantity.Ampere, 1.234, 7},
		{"unit by row", table8("t,value,unit\n", "#,1.#,mA\n"), "value", quantity.Ampere, 1.35e-3, 7},
		{"unit in value", table8("t,I\n", "#,1.# mA\n"), "I", quantity.Ampere, 1.35e-3, 7},
		{"slash unit", table8("t/s;I/mA\n", "#;1.#\n"), "I", quantity.Ampere, 1.35e-3, 7},
		{"Fahrenheit", table8("t (s),T (°F)\n", "#,3#\n"), "T", quantity.Celsius, (33.5 - 32) / 1.8, 7},
		{"Kelvin", table8("t (s),T (K)\n", "#,29#\n"), "T", quantity.Celsius, 293.5 - 273.15, 7},
		{"percent", table8("t (s),Load (%)\n", "#,4#\n"), "Load", quantity.None, 0.435, 7},
		{"rate", table8("t (s),Throughput (MB/s)\n", "#,11#\n"), "Throughput", quantity.BytePerSecond, 113.5e6, 7},
		{"comment header", "# made by hand\n" + table8("# t (s), I (A)\n", "#, 1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"two header rows", table8("CH1,CH1,CH2\nt,V,V\n", "#,1.#,2.#\n"), "CH1", quantity.Volt, 1.35, 7},
		{"epoch", table8("epoch,I (A)\n", "177271920#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"epoch us", table8("ts time,I (A)\n", "177271920#000000,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"epoch ns", table8("time,I (A)\n", "177271920#000000001,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"serial day", table8("date,I (A)\n", "46086.#,1.#\n"), "I", quantity.Ampere, 1.35, 0.7 * 86400},
		{"ISO offset", table8("time,I (A)\n", "2026-03-05T14:00:0#+02:00,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"ISO compact", table8("time,I (A)\n", "20260305T14000#Z,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"named month", table8("time,I (A)\n", "05-Mar-2026 14:00:0#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"month first", table8("time,I (A)\n", "03/25/2026 02:00:0# PM,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"two-digit year", table8("time;I (A)\n", "25.03.26 14:00:0#;1,#\n"), "I", quantity.Ampere, 1.35, 7},
		{"date and time apart", table8("date,time,I (A)\n", "2026-03-05,14:00:0#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"time before date", table8("time,date,I (A)\n", "14:00:0#,2026-03-05,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"elapsed past a day", table8("elapsed,I (A)\n", "30:00:0#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"minutes and seconds", table8("elapsed,I (A)\n", "05:0#,1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"interval in preamble", "Sample Interval,0.5,s\n" + table8("CH1 (V)\n", "1.#\n"), "CH1", quantity.Volt, 1.35, 3.5},
		{"single column", table8("I (A)\n", "1.#\n"), "I", quantity.Ampere, 1.35, 7},
		{"columns by pieces", table8("Kanal;Zeit;Wert (V)\n", "A;#;1.#\n"), "A", quantity.Volt, 1.35, 7},
		{"footer", table8("t,I (A)\n", "#,1.#\n") + "End of data\nmin,1.0\n", "I", quantity.Ampere, 1.35, 7},
		{"header again", table8("t,I (A)\n", "#,1.#\n") + "t,I (A)\n", "I", quantity.Ampere, 1.35, 7},
		{"padding", table8("t,I (A)\n", "#,1.#\n") + "\x00\x00\x00\x00\x1a", "I", quantity.Ampere, 1.35, 7},
		{"Latin-1", "Spannung in \xb5V\n" + table8("t;U (\xb5V)\n", "#;5,#\n"), "U", quantity.Volt, 5.35e-6, 7},
		{"five dashes", table8("t,I (A)\n", "#,1.#\n") + "8,-----\n", "I", quantity.Ampere, 1.35, 8},
		{"dates with comma", table8("time,I (A)\n", "\"Mar 5, 2026 2:00:0# PM\",1.#\n"), "I", quantity.Ampere, 1.35, 7},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, log := load(t, c.text, Hints{})
			s := log.Channel(c.channel)
			if s == nil {
				t.Fatalf("no channel %q: %+v", c.channel, d.Profile)
			}
			sum := log.Summary.Channels[0]
			for _, x := range log.Summary.Channels {
				if x.Name == c.channel {
					sum = x
				}
			}
			if s.Unit != c.unit || math.Abs(sum.Mean()-c.mean) > 1e-12*math.Abs(c.mean) || sum.N != 8 {
				t.Errorf("mean %.15g %s of %d, want %.15g %s\n%+v", sum.Mean(), s.Unit, sum.N, c.mean, c.unit, d.Profile)
			}
			if got := log.Summary.Last - log.Summary.First; math.Abs(got-c.span) > 1e-6 {
				t.Errorf("spans %g s, want %g s: %+v", got, c.span, d.Profile.Time)
			}
		})
	}
}

// TestStarts checks the absolute times of the forms above against package time.
func TestStarts(t *testing.T) {
	at := time.Date(2026, 3, 5, 14, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		row   string
		want  time.Time
		zoned bool
		hints Hints
	}{
		{"2026-03-05T14:00:0#+02:00,1.#\n", at.Add(-2 * time.Hour), true, Hints{}},
		{"20260305T14000#Z,1.#\n", at, true, Hints{}},
		{"05-Mar-2026 14:00:0#,1.#\n", at, false, Hints{}},
		{"03/05/2026 02:00:0# PM,1.#\n", at, false, Hints{}},
		{"05/03/2026 02:00:0# PM,1.#\n", at, false, Hints{Order: DMY}},
		{"12/03/2026 12:00:0# AM,1.#\n", time.Date(2026, 12, 3, 0, 0, 0, 0, time.UTC), false, Hints{}},
		{"177271920#000000001,1.#\n", at.Add(1), true, Hints{}},
		{"\"Mar 5, 2026 2:00:0# PM\",1.#\n", at, false, Hints{}},
	} {
		_, log := load(t, table8("time,I (A)\n", c.row), c.hints)
		if !log.Summary.Start.Equal(c.want) || log.Summary.ZoneKnown != c.zoned {
			t.Errorf("%q starts %v, want %v", c.row, log.Summary.Start, c.want)
		}
	}
	// A date in the preamble and the time of day in the rows; midnight passes within.
	_, log := load(t, "Recorded: 2026-03-05\ntime,I (A)\n23:59:58,1.0\n23:59:59,1.0\n00:00:00,1.0\n00:00:01,1.0\n", Hints{})
	if want := time.Date(2026, 3, 5, 0, 0, 0, 0, time.UTC); !log.Summary.Start.Equal(want) || log.Summary.Last-log.Summary.First != 3 {
		t.Errorf("starts %v, spans %g", log.Summary.Start, log.Summary.Last-log.Summary.First)
	}
}

func TestCivilDays(t *testing.T) {
	for d := time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2201; d = d.AddDate(0, 0, 1) {
		if got := civilDays(d.Year(), int(d.Month()), d.Day()); int64(got) != d.Unix()/86400 && d.Unix() >= 0 || int64(got)*86400 != d.Unix() {
			t.Fatalf("%v is day %d", d, got)
		}
	}
}

func TestUTF16WithoutMark(t *testing.T) {
	text := table8("t;U (mV)\n", "#;5,#\n")
	for _, big := range []bool{false, true} {
		var b bytes.Buffer
		for _, u := range utf16.Encode([]rune(text)) {
			if big {
				b.Write([]byte{byte(u >> 8), byte(u)})
			} else {
				b.Write([]byte{byte(u), byte(u >> 8)})
			}
		}
		d, log := load(t, b.String(), Hints{})
		if want := map[bool]string{false: UTF16LE, true: UTF16BE}[big]; d.Profile.Encoding != want || log.Summary.Rows != 8 {
			t.Errorf("%s, %d rows", d.Profile.Encoding, log.Summary.Rows)
		}
	}
}

func TestMarks(t *testing.T) {
	for text, want := range map[string]mark{
		"OL": over, "+OL": over, "-OL": under, "0L": over, "OVLD": over, "overload": over, "-----": over, "Inf": over, "-inf": under,
		"": missing, "---": missing, "N/A": missing, "NaN": missing, "null": missing, "#N/A": missing, "hello": notMark, "1": notMark, ".": notMark,
	} {
		if got := readMark(text); got != want {
			t.Errorf("%q is %d, want %d", text, got, want)
		}
	}
	for x, want := range map[float64]mark{9.9e37: over, -9.9e37: under, 9.91e37: missing, 1e38: over, 1: notMark, 9e36: notMark} {
		if got := sentinel(x); got != want {
			t.Errorf("%g is %d, want %d", x, got, want)
		}
	}
}

func TestUnits(t *testing.T) {
	for _, c := range []struct {
		text  string
		si    quantity.Unit
		power int
	}{
		{"V", quantity.Volt, 0}, {"mV", quantity.Volt, -3}, {"VDC", quantity.Volt, 0}, {"mADC", quantity.Ampere, -3}, {"V dc", quantity.Volt, 0},
		{"A (DC)", quantity.Ampere, 0}, {"Volts", quantity.Volt, 0}, {"µA", quantity.Ampere, -6}, {"μA", quantity.Ampere, -6}, {"uA", quantity.Ampere, -6},
		{"MW", quantity.Watt, 6}, {"mW", quantity.Watt, -3}, {"kΩ", quantity.Ohm, 3}, {"℃", quantity.Celsius, 0}, {"MB/s", quantity.BytePerSecond, 6}, {"Gbit/s", quantity.BitPerSecond, 9},
	} {
		if u, ok := readUnit(c.text); !ok || u.si != c.si || u.power != c.power {
			t.Errorf("%q is %+v %v", c.text, u, ok)
		}
	}
	for _, text := range []string{"", "X", "volume", "mm:ss", "(", "rail"} {
		if u, ok := readUnit(text); ok {
			t.Errorf("%q is a unit: %+v", text, u)
		}
	}
	for header, want := range map[string][2]string{
		"Kanal 1 (V)": {"Kanal 1", "V"}, "V(V)": {"V", "V"}, "I [mA]": {"I", "mA"}, "U / V": {"U", "V"}, "Rate, MB/s": {"Rate", "MB/s"},
		"current_A": {"current", "A"}, "Rail A": {"Rail A", ""}, "Date/Time": {"Date/Time", ""}, "Temp min": {"Temp min", ""}, "P mW": {"P", "mW"},
		"Voltage (rail 1)": {"Voltage (rail 1)", ""},
	} {
		if name, unit := splitUnit(header); name != want[0] || unit != want[1] {
			t.Errorf("%q is %q in %q", header, name, unit)
		}
	}
}
