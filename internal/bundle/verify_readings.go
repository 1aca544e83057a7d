package bundle

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/table"
	"railtally/internal/tally"
)

// changedReading is a reading that the study's text and the table of readings
// have differently.
type changedReading struct {
	at        int // its problem
	place     string
	entry     *quantity.Entry // in the study
	published quantity.Entry  // of the table
}

// readings compares the study's readings with the table that was published.
func (v *verifier) readings(s *study.Study) []changedReading {
	if v.b.files[readingsName] == nil {
		return nil
	}
	rows, err := v.readingRows()
	if err != nil {
		v.problem(Problem{Kind: Unreadable, File: readingsName, Text: fmt.Sprintf("The table of readings cannot be read: %v.", err)})
		return nil
	}
	var out []changedReading
	seen := map[string]bool{}
	for _, r := range table.Readings(s) {
		v.Readings++
		place := r.Place()
		seen[place] = true
		row, ok := rows[place]
		if !ok {
			v.problem(Problem{Kind: ReadingChanged, File: studyName, Name: place, Recomputed: r.Written(),
				Text: fmt.Sprintf("%s: %s says %s; %s has no such reading.", place, studyName, r.Written(), readingsName)})
			continue
		}
		if row["written"] == r.Written() && row["meter"] == r.Meter && row["meter_range"] == r.MeterRange {
			continue
		}
		there := strings.Join(strings.Fields(row["written"]+" "+row["meter"]+" "+row["meter_range"]), " ")
		here := strings.Join(strings.Fields(r.Written()+" "+r.Meter+" "+r.MeterRange), " ")
		v.problem(Problem{Kind: ReadingChanged, File: studyName, Name: place, Published: there, Recomputed: here,
			Text: fmt.Sprintf("%s: %s says %s; %s says %s.", place, studyName, here, readingsName, there)})
		if e, err := quantity.Parse(row["written"], r.Entry.Unit, ""); err == nil {
			out = append(out, changedReading{len(v.Problems) - 1, place, r.Entry, e})
		}
	}
	for place, row := range rows {
		if !seen[place] {
			v.problem(Problem{Kind: ReadingChanged, File: readingsName, Name: place, Published: row["written"],
				Text: fmt.Sprintf("%s: %s says %s; %s has no such reading.", place, readingsName, row["written"], studyName)})
		}
	}
	return out
}

// readingRows reads the table of readings by the place of each.
func (v *verifier) readingRows() (map[string]map[string]string, error) {
	text, err := v.b.Read(readingsName)
	if err != nil {
		return nil, err
	}
	head, lines, err := readCSV(text)
	if err != nil {
		return nil, err
	}
	for _, key := range []string{"reading", "written", "meter", "meter_range"} {
		if !slices.Contains(head, key) {
			return nil, fmt.Errorf("it has no column %s", key)
		}
	}
	out := map[string]map[string]string{}
	for _, l := range lines {
		row := map[string]string{}
		for i, cell := range l {
			row[head[i]] = table.Plain(cell)
		}
		if out[row["reading"]] != nil {
			return nil, fmt.Errorf("it has %s twice", row["reading"])
		}
		out[row["reading"]] = row
	}
	return out, nil
}

// readCSV reads a table that CSV wrote: its head, and lines as long.
func readCSV(text []byte) (head []string, lines [][]string, err error) {
	all, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		return nil, nil, err
	}
	if len(all) == 0 {
		return nil, nil, fmt.Errorf("it is empty")
	}
	return all[0], all[1:], nil
}

// attributed is how many changed readings are looked into one by one.
const attributed = 5

// attribute says which published figures each changed reading goes into, by
// computing the study with that reading as it was published.
func (v *verifier) attribute(s *study.Study, t *tally.Tally, changed []changedReading) {
	now := statedByName(t)
	for i, c := range changed {
		if i == attributed {
			v.note("of %d changed readings the first %d were followed to their figures", len(changed), attributed)
			return
		}
		was, err := restored(s, c)
		if err != nil {
			continue
		}
		p := &v.Problems[c.at]
		for _, f := range FiguresOf(t).Figures {
			if was[f.Name] != now[f.Name] {
				p.Feeds = append(p.Feeds, f.Name)
			}
		}
		switch {
		case len(p.Feeds) == 0:
			p.Text += " No published figure changes with it in the digits that are stated."
		default:
			p.Text += " With it change: " + shortList(p.Feeds, 6) + "."
		}
	}
}

// shortList lists so many, and how many more there are.
func shortList(items []string, n int) string {
	if len(items) <= n {
		return strings.Join(items, "; ")
	}
	return strings.Join(items[:n], "; ") + fmt.Sprintf("; and %d more", len(items)-n)
}
