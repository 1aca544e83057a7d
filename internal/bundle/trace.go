package bundle

import (
	"context"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"railtally/internal/notebook"
	"railtally/internal/quantity"
)

// Column is one series of a trace: a column of its Parquet file.
type Column struct {
	Key  string `json:"key"`
	Name string `json:"name"` // as the meter or the log calls it
	Unit string `json:"unit,omitempty"`
	// What it is of the board, where that was said: "current", "voltage",
	// "temperature", "throughput", with rail and tap or the name of a temperature.
	Is    string `json:"is,omitempty"`
	Rail  string `json:"rail,omitempty"`
	Tap   string `json:"tap,omitempty"`
	Point string `json:"point,omitempty"`
}

// timeKey is the column of the times, in seconds from the trace's zero.
const timeKey = "t_s"

// tracesOf gathers the complete traces of a study: one file for each, or one for
// each set of channels that were sampled together. Their samples are read while
// they are packed, so the notebook stays open until then.
func tracesOf(ctx context.Context, nb *notebook.Notebook, id int64) ([]Trace, error) {
	list, err := nb.Traces(ctx, id)
	if err != nil {
		return nil, err
	}
	var out []Trace
	for _, x := range list {
		if x.Outcome != notebook.Complete {
			continue
		}
		clocks := map[int]bool{}
		for _, ch := range x.Channels {
			if !clocks[ch.Clock] {
				clocks[ch.Clock] = true
				out = append(out, traceOf(ctx, nb, x, ch.Clock))
			}
		}
	}
	return out, nil
}

func traceOf(ctx context.Context, nb *notebook.Notebook, x notebook.Trace, clock int) Trace {
	t := Trace{Name: x.Mapping.Name, Note: x.Mapping.Note, About: map[string]string{"source": string(x.Source)}}
	if t.Name == "" {
		t.Name = x.File
	}
	if x.File != "" {
		t.About["file"], t.About["file_sha256"] = x.File, x.SHA256
	}
	if !x.Zero.IsZero() {
		form := "2006-01-02T15:04:05.999999999"
		if x.Zone {
			form = time.RFC3339Nano
		}
		t.About["zero"] = x.Zero.UTC().Format(form)
	}
	for i, c := range x.Mapping.Clocks {
		if other, err := nb.Trace(ctx, c.Trace); err == nil {
			t.About[fmt.Sprintf("clock %d", i+1)] = fmt.Sprintf("times of %s are brought to this clock by adding %.9g s ± %.2g s (k=1, %s)",
				other.Mapping.Name, c.Offset, c.U, c.Method)
		}
	}
	for k, ch := range x.Channels {
		if ch.Clock != clock {
			continue
		}
		c := Column{Key: columnKey(len(t.Columns)+1, ch.Unit), Name: ch.Name, Unit: ch.Unit.Symbol()}
		if role, ok := x.Mapping.Role(k); ok {
			c.Is, c.Rail, c.Tap, c.Point = string(role.Is), role.Rail, role.Tap, role.Name
		}
		t.Columns = append(t.Columns, c)
	}
	keys := []string{timeKey}
	for _, c := range t.Columns {
		keys = append(keys, c.Key)
	}
	t.Open = func() (io.Reader, error) {
		r, w := io.Pipe()
		go func() {
			w.CloseWithError(writeTrace(w, keys, func(fn func([]float64, [][]float64) error) error {
				return nb.EachSample(ctx, x.ID, clock, fn)
			}))
		}()
		return r, nil
	}
	return t
}

// columnKey is the key of the nth channel: "c1_v". It says nothing of the
// channel's name, which may be left out before publishing.
func columnKey(n int, unit quantity.Unit) string {
	key := fmt.Sprintf("c%d", n)
	if u := strings.ReplaceAll(fileName(unit.Symbol()), "-", "_"); u != "" {
		key += "_" + u
	}
	return key
}

// rename replaces every text of a trace but its keys.
func (t *Trace) rename(by func(string) string) {
	t.Columns = slices.Clone(t.Columns)
	for i := range t.Columns {
		c := &t.Columns[i]
		c.Name, c.Rail, c.Tap, c.Point = by(c.Name), by(c.Rail), by(c.Tap), by(c.Point)
	}
}

// traceRows is how many samples are handed on at once.
const traceRows = 4096

// writeTrace writes series that were sampled together as Parquet: one required
// column of doubles for each, compressed by Snappy; each calls its function with
// pieces of them. What was not read is NaN.
func writeTrace(w io.Writer, keys []string, each func(func(times []float64, values [][]float64) error) error) error {
	var fields []reflect.StructField
	for i, k := range keys {
		fields = append(fields, reflect.StructField{Name: fmt.Sprintf("F%d", i), Type: reflect.TypeFor[float64](), Tag: reflect.StructTag(fmt.Sprintf("parquet:%q", k+",snappy"))})
	}
	schema := parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface())
	out := parquet.NewWriter(w, schema, parquet.CreatedBy("railtally", "", ""), parquet.MaxRowsPerRowGroup(1<<20))
	n := len(keys)
	flat := make([]parquet.Value, traceRows*n)
	rows := make([]parquet.Row, traceRows)
	for i := range rows {
		rows[i] = flat[i*n : (i+1)*n : (i+1)*n]
	}
	err := each(func(times []float64, values [][]float64) error {
		for from := 0; from < len(times); from += traceRows {
			m := min(traceRows, len(times)-from)
			for i := range m {
				rows[i][0] = parquet.DoubleValue(times[from+i]).Level(0, 0, 0)
				for c, v := range values {
					rows[i][c+1] = parquet.DoubleValue(v[from+i]).Level(0, 0, c+1)
				}
			}
			if _, err := out.WriteRows(rows[:m]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return out.Close()
}
