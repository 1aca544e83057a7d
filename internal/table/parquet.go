package table

import (
	"fmt"
	"io"
	"reflect"

	"github.com/parquet-go/parquet-go"
)

// parquetTypes are the Go types by which the library knows a column; the
// pointer makes it optional.
var parquetTypes = map[Kind]reflect.Type{
	Text: reflect.TypeFor[*string](), Whole: reflect.TypeFor[*int64](), Number: reflect.TypeFor[*float64](), Yes: reflect.TypeFor[*bool](),
}

// Parquet writes the table as an Apache Parquet file, compressed by Snappy: one
// optional column for each of Fields, named by its key. about becomes the
// file's own notes. The same table gives the same bytes.
func (t *Table) Parquet(w io.Writer, about map[string]string) error {
	var fields []reflect.StructField
	for i, f := range t.Fields() {
		fields = append(fields, reflect.StructField{
			Name: fmt.Sprintf("F%d", i), Type: parquetTypes[f.Kind], Tag: reflect.StructTag(fmt.Sprintf("parquet:%q", f.Key+",optional,snappy")),
		})
	}
	row := reflect.StructOf(fields)
	schema := parquet.SchemaOf(reflect.New(row).Interface())
	opts := []parquet.WriterOption{schema, parquet.CreatedBy("railtally", "", "")}
	for k, v := range about {
		opts = append(opts, parquet.KeyValueMetadata(k, v))
	}
	out := parquet.NewWriter(w, opts...)
	for i := range t.Rows {
		x := reflect.New(row)
		for j, v := range t.Values(i) {
			if v != nil {
				p := reflect.New(reflect.TypeOf(v))
				p.Elem().Set(reflect.ValueOf(v))
				x.Elem().Field(j).Set(p)
			}
		}
		if err := out.Write(x.Interface()); err != nil {
			return fmt.Errorf("table %s, row %d: %w", t.Name, i+1, err)
		}
	}
	return out.Close()
}
