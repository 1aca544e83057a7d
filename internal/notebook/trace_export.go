package notebook

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"
)

// Clocks returns how many clocks a trace has: groups of channels that share their times.
func (x *Trace) Clocks() (n int) {
	for _, c := range x.Channels {
		n = max(n, c.Clock+1)
	}
	return n
}

// heads names the columns of one clock: the time, then "core V (V)".
func (x *Trace) heads(clock int) []string {
	out := []string{"time (s)"}
	for _, c := range x.Channels {
		if c.Clock == clock {
			name := c.Name
			if u := c.Unit.Symbol(); u != "" {
				name += " (" + u + ")"
			}
			out = append(out, name)
		}
	}
	return out
}

// ExportCSV writes the samples of one clock as text: a head, then a line for each time; numbers as short as they
// read back the same, in SI. A missing sample is empty, one beyond the range is ±9.9E37, as SCPI has
// it. 'railtally log' reads it again.
func (nb *Notebook) ExportCSV(ctx context.Context, w io.Writer, id int64, clock int) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	for i, h := range x.heads(clock) {
		if i > 0 {
			out.WriteByte(',')
		}
		if strings.ContainsAny(h, ",\"\n\r") {
			h = `"` + strings.ReplaceAll(strings.NewReplacer("\n", " ", "\r", " ").Replace(h), `"`, `""`) + `"`
		}
		out.WriteString(h)
	}
	out.WriteByte('\n')
	var line []byte
	err = nb.EachSample(ctx, id, clock, func(t []float64, v [][]float64) error {
		for i := range t {
			line = strconv.AppendFloat(line[:0], t[i], 'f', -1, 64)
			for _, c := range v {
				line = append(line, ',')
				switch x := c[i]; {
				case math.IsInf(x, 1):
					line = append(line, "9.9E37"...)
				case math.IsInf(x, -1):
					line = append(line, "-9.9E37"...)
				case x == x:
					line = strconv.AppendFloat(line, x, 'g', -1, 64)
				}
			}
			if _, err := out.Write(append(line, '\n')); err != nil {
				return err
			}
		}
		return nil
	})
	return errors.Join(err, out.Flush())
}

// parquetRows is how many rows are handed to the library at once.
const parquetRows = 4096

// ExportParquet writes the samples of one clock as an Apache Parquet file: columns of double, the time first,
// named as in CSV. A missing sample is NaN, one beyond the range an infinity. The file's own notes
// say what it was made of.
func (nb *Notebook) ExportParquet(ctx context.Context, w io.Writer, id int64, clock int) error {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return err
	}
	heads := x.heads(clock)
	opts := []parquet.WriterOption{parquetSchema(heads), parquet.CreatedBy("railtally", "", ""),
		parquet.KeyValueMetadata("name", x.Mapping.Name), parquet.KeyValueMetadata("file", x.File),
		parquet.KeyValueMetadata("sha256", x.SHA256), parquet.KeyValueMetadata("time zero", writeStamp(x.Zero))}
	out := parquet.NewWriter(w, opts...)
	rows := make([]parquet.Row, 0, parquetRows)
	err = nb.EachSample(ctx, id, clock, func(t []float64, v [][]float64) error {
		for i := range t {
			row := make(parquet.Row, 0, len(heads))
			row = append(row, parquet.DoubleValue(t[i]).Level(0, 0, 0))
			for k, c := range v {
				row = append(row, parquet.DoubleValue(c[i]).Level(0, 0, k+1))
			}
			if rows = append(rows, row); len(rows) == parquetRows || i == len(t)-1 {
				if _, err := out.WriteRows(rows); err != nil {
					return err
				}
				rows = rows[:0]
			}
		}
		return nil
	})
	return errors.Join(err, out.Close())
}

// parquetSchema is made from a struct type, which keeps the columns in their order.
func parquetSchema(heads []string) *parquet.Schema {
	fields := make([]reflect.StructField, len(heads))
	seen := map[string]bool{}
	for i, h := range heads {
		h = strings.NewReplacer(",", " ", "\"", "'").Replace(h) // the tag has no way to quote them
		for seen[h] {
			h += "'"
		}
		seen[h] = true
		fields[i] = reflect.StructField{Name: fmt.Sprintf("F%d", i), Type: reflect.TypeFor[float64](),
			Tag: reflect.StructTag(fmt.Sprintf("parquet:%q", h+",zstd"))}
	}
	return parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface())
}
