package logfile

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestPlainRows: the quick way through rows of plain numbers stores what reading cell by cell does, to the
// last bit, and gives up on the same rows.
func TestPlainRows(t *testing.T) {
	p := &Profile{Encoding: UTF8, Newline: LF, Delimiter: ",", Decimal: ".", FirstData: 1, Layout: Wide,
		Time: TimeSpec{Kind: Elapsed, Unit: "s"}, Columns: []Column{
			{Name: "t", Role: Time}, {Name: "a", Role: Value, Unit: "mV"}, {Name: "b", Role: Value, Unit: "V", Gain: 10, As: "A"}}}
	pl, err := newPlan(p)
	if err != nil {
		t.Fatal(err)
	}
	cell := rapid.OneOf(
		rapid.StringMatching(`-?[0-9]{1,4}\.[0-9]{1,5}`), rapid.StringMatching(`[-+]?[0-9]{1,20}`),
		rapid.StringMatching(`-?[0-9]\.[0-9]{1,12}[eE][-+]?[0-9]{1,2}`), rapid.SampledFrom([]string{"", "OL", " 1.5", "1.5 ", "-", "\"2.5\"", "9.9E37", "x", "1.2.3", ".5", "5."}))
	rapid.Check(t, func(t *rapid.T) {
		var text strings.Builder
		var want [][3]float64
		for i := range rapid.IntRange(1, 12).Draw(t, "rows") {
			n := rapid.SampledFrom([]int{3, 3, 3, 3, 2, 4}).Draw(t, "fields")
			cells := make([]string, n)
			row := [3]float64{math.NaN(), math.NaN(), math.NaN()}
			for k := range cells {
				cells[k] = cell.Draw(t, "cell")
				if k == 0 {
					cells[k] = strings.Repeat("1", 1+i%9) + ".25"
					row[0], _ = pl.number([]byte(cells[0]), &pl.fields[0])
				} else if k < 3 {
					row[k], _ = pl.read(trim([]byte(cells[k])), &pl.fields[k], pl.fields[k].unit)
				}
			}
			text.WriteString(strings.Join(cells, ",") + rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end"))
			want = append(want, row)
		}
		var b block
		pl.parse([]byte(text.String()), &b)
		if b.rows != len(want) {
			t.Fatalf("%d rows of %d: %+v", b.rows, len(want), b.remarks)
		}
		for i, w := range want {
			got := [3]float64{b.t[i], b.v[0][i], b.v[1][i]}
			for k := range got {
				if math.Float64bits(got[k]) != math.Float64bits(w[k]) && !(got[k] != got[k] && w[k] != w[k]) {
					t.Fatalf("row %d field %d of %q is %v, want %v", i, k, text.String(), got[k], w[k])
				}
			}
		}
	})
}
