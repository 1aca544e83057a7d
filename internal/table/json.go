package table

import (
	"bytes"
	"encoding/json"
	"io"

	"railtally/internal/tally"
)

// Format names the JSON form of a table and its version. A new version is due
// when a key changes its meaning or goes; keys may be added without one.
const Format = "railtally table 1"

// Document is the JSON form of one table. docs/tables.md describes it.
type Document struct {
	Format string `json:"format"`
	Table  string `json:"table"`
	Title  string `json:"title"`
	Study  string `json:"study"`
	// Level is the coverage probability of every expanded uncertainty.
	Level   float64     `json:"level"`
	Columns []DocColumn `json:"columns"`
	Rows    []Record    `json:"rows"`
}

// DocColumn describes the values that rows hold under a key.
type DocColumn struct {
	Key  string `json:"key"`
	Type string `json:"type" jsonschema:"enum=text,enum=whole,enum=number,enum=yes"`
	Unit string `json:"unit,omitempty"`
}

// typeNames are the values of DocColumn.Type.
var typeNames = map[Kind]string{Text: "text", Whole: "whole", Number: "number", Yes: "yes"}

// Record is one row: values by key, in the order of the columns. A key is absent
// where there is nothing to say.
type Record struct {
	keys   []string
	values []any
}

// MarshalJSON writes the keys in order.
func (r Record) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	first := true
	for i, v := range r.values {
		if v == nil {
			continue
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		key, err := json.Marshal(r.keys[i])
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Document builds the JSON form of the table.
func (t *Table) Document(of *tally.Tally) *Document {
	d := &Document{Format: Format, Table: t.Name, Title: t.Title, Study: of.Study.Question, Level: of.Level, Columns: []DocColumn{}, Rows: []Record{}}
	var keys []string
	for _, f := range t.Fields() {
		d.Columns = append(d.Columns, DocColumn{f.Key, typeNames[f.Kind], f.Unit})
		keys = append(keys, f.Key)
	}
	for i := range t.Rows {
		d.Rows = append(d.Rows, Record{keys, t.Values(i)})
	}
	return d
}

// JSON writes the table as one JSON document.
func (t *Table) JSON(w io.Writer, of *tally.Tally) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	return enc.Encode(t.Document(of))
}
