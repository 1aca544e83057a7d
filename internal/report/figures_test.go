package report

import (
	"math"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"railtally/internal/chart"
	"railtally/internal/quantity"
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1e-3, math.Abs(b)) }

func unescape(s string) (string, error) { return url.PathUnescape(s) }

// units by which the page's heads and texts are read back, in SI.
var units = map[string]float64{
	"nW": 1e-9, "µW": 1e-6, "mW": 1e-3, "W": 1, "kW": 1e3,
	"µA": 1e-6, "mA": 1e-3, "A": 1, "µV": 1e-6, "mV": 1e-3, "V": 1, "": 1,
}

var figureText = regexp.MustCompile(`^(−?[0-9.]+) ± ([0-9.]+)(?: ([a-zA-Zµ]+))?$`)

// checkFigure wants the text to state the figure: value and half-width within
// half of the last digit that is printed, and the half-width with two digits.
func checkFigure(t *testing.T, what, text, unit string, want tally.Figure) {
	t.Helper()
	m := figureText.FindStringSubmatch(strings.ReplaceAll(text, noBreak, " "))
	if m == nil {
		t.Errorf("%s: %q is no figure with its tolerance", what, text)
		return
	}
	if m[3] != "" {
		unit = m[3]
	}
	scale, ok := units[unit]
	if !ok {
		t.Fatalf("%s: unit %q", what, unit)
	}
	read := func(s string) (x, half float64) {
		x, err := strconv.ParseFloat(strings.Replace(s, "−", "-", 1), 64)
		if err != nil {
			t.Fatal(err)
		}
		_, after, _ := strings.Cut(s, ".")
		return x * scale, 0.5000001 * scale * math.Pow10(-len(after))
	}
	x, half := read(m[1])
	u, halfU := read(m[2])
	// "360" is rounded to tens, which its digits alone do not show.
	tens := 0.5000001 * math.Pow10(int(math.Floor(math.Log10(u*1.000001)))-1)
	half, halfU = math.Max(half, tens), math.Max(halfU, tens)
	if math.Abs(x-want.Estimate) > half || math.Abs(u-want.Expanded) > halfU {
		t.Errorf("%s: %q in %q, the tally says %g ± %g", what, text, unit, want.Estimate, want.Expanded)
	}
	if half != halfU || halfU > 0.051*want.Expanded {
		t.Errorf("%s: %q does not give two digits of %g", what, text, want.Expanded)
	}
}

// unitOf is what follows the comma of a head: "mW" of "core, mW 0.95 V ±3 %".
func unitOf(head *element) string {
	own, _, _ := strings.Cut(head.text(), noBreak)
	_, unit, _ := strings.Cut(own, ", ")
	unit, _, _ = strings.Cut(unit, " ")
	return unit
}

// cellText is what a cell says, without its marks.
func cellText(e *element) string {
	s := e.text()
	for _, m := range e.class("mark") {
		s = strings.TrimSpace(strings.TrimSuffix(s, m.text()))
	}
	return s
}

func TestFiguresAreTheTallys(t *testing.T) {
	for _, x := range []*tally.Tally{run(t, readStudy(t, "otter.yaml")), run(t, readStudy(t, "every.yaml")), run(t, large(t, 3, 5, "Otter", "Marten"))} {
		root := parsePage(t, render(t, x, made))
		v, err := assemble(x, made, SectionNames())
		if err != nil {
			t.Fatal(err)
		}
		tables := root.class("powers")
		for i, b := range x.Boards {
			checkPowers(t, tables[i], b)
			for j, s := range b.States {
				checkState(t, x, root.id(t, v.Boards[i].States[j].ID).parent, s)
			}
		}
		checkDifferences(t, x, root.class("differences")[0])
		checkHeadlines(t, x, root)
		answer := strings.ReplaceAll(root.id(t, "answer").text(), noBreak, " ")
		for _, s := range x.Answer() {
			if !strings.Contains(answer, s.String()) {
				t.Errorf("the answer lacks %q", s)
			}
		}
	}
}

func checkPowers(t *testing.T, table *element, b *tally.Board) {
	t.Helper()
	heads := table.named("thead")[0].named("th")
	rows := table.named("tbody")[0].named("tr")
	if len(rows) != len(b.States) {
		t.Fatalf("%s: %d rows for %d states", b.Name, len(rows), len(b.States))
	}
	for i, s := range b.States {
		cells := rows[i].named("th", "td")
		if cells[0].text() != s.State.Name {
			t.Errorf("row %d is %q, want %q", i, cells[0].text(), s.State.Name)
		}
		if s.Complete {
			checkFigure(t, s.On().String(), cellText(cells[1]), unitOf(heads[1]), s.Total)
		} else if got := cells[1].text(); got != "rail missing "+quantity.Join(s.Missing) {
			t.Errorf("%s: total %q", s.On(), got)
		}
		at := 2
		for _, rail := range b.Rails {
			if rail.Aside {
				continue
			}
			if !strings.HasPrefix(heads[at].text(), rail.Name+", ") {
				t.Errorf("head %q over %s", heads[at].text(), rail.Name)
			}
			r, got := s.Rail(rail.Name), cellText(cells[at])
			switch {
			case r == nil:
				if got != "not read" {
					t.Errorf("%s %s: %q, want not read", s.On(), rail.Name, got)
				}
			case isBounded(rail):
				checkBounded(t, got, unitOf(heads[at]), r)
			default:
				checkFigure(t, s.On().String()+" "+rail.Name, got, unitOf(heads[at]), r.Power)
				if marked := strings.Contains(cells[at].text(), "nominal"); marked != r.Stands {
					t.Errorf("%s %s: marked as nominal: %v, want %v", s.On(), rail.Name, marked, r.Stands)
				}
			}
			at++
		}
	}
}

func checkBounded(t *testing.T, text, unit string, r *tally.Rail) {
	t.Helper()
	hi, ok := strings.CutPrefix(text, "0 to ")
	x, err := strconv.ParseFloat(hi, 64)
	if want := r.Bound.Values[1] * r.Voltage.Estimate; !ok || err != nil || math.Abs(x*units[unit]-want) > 0.05*want {
		t.Errorf("%s: %q %s, want 0 to %g W", r.Name, text, unit, want)
	}
}

// checkState checks a state's own table, and each rail opened.
func checkState(t *testing.T, x *tally.Tally, e *element, s *tally.State) {
	t.Helper()
	if s.Complete {
		checkFigure(t, s.On().String(), e.named("summary")[0].class("sum")[0].text(), "", s.Total)
	}
	table := e.class("vip")[0]
	heads := table.named("thead")[0].named("th")
	for i, r := range s.Rails {
		cells := table.named("tbody")[0].named("tr")[i].named("th", "td")
		what := s.On().String() + " " + r.Name
		if !isBounded(r.Rail) {
			checkFigure(t, what, cellText(cells[1]), unitOf(heads[1]), r.Power)
			checkFigure(t, what, cellText(cells[2]), unitOf(heads[2]), r.Current)
		}
		checkFigure(t, what, cellText(cells[3]), unitOf(heads[3]), r.Voltage)
	}
	for _, tk := range s.Taken {
		for _, rt := range tk.Inputs {
			f, err := x.Figure(rt.Power)
			if err != nil {
				t.Fatal(err)
			}
			if want := english().stated(f, quantity.Watt); !strings.Contains(e.text(), rt.Rail.Name+" carried ") || !strings.Contains(e.text(), want) {
				t.Errorf("%s: %s does not say %q", s.On(), rt.Rail.Name, want)
			}
		}
	}
	if foot := table.named("tfoot")[0].named("td")[0]; s.Complete {
		checkFigure(t, s.On().String()+" sum", foot.text(), unitOf(heads[1]), s.Total)
	} else if foot.text() != "no total" {
		t.Errorf("%s: sum %q", s.On(), foot.text())
	}
	opened := e.class("rail")
	if len(opened) != len(s.Rails) {
		t.Fatalf("%s: %d rails opened, want %d", s.On(), len(opened), len(s.Rails))
	}
	for i, r := range s.Rails {
		checkReadings(t, x, opened[i], s, r)
	}
}

// checkReadings wants every reading of a rail as it was written, with what it
// gives.
func checkReadings(t *testing.T, x *tally.Tally, e *element, s *tally.State, r *tally.Rail) {
	t.Helper()
	var rows []*element
	gives := 0
	if tables := e.class("readings"); len(tables) > 0 {
		rows = tables[0].named("tbody")[0].named("tr")
		for i, th := range tables[0].named("thead")[0].named("th") {
			if th.text() == "Gives" {
				gives = i
			}
		}
	}
	at := 0
	check := func(c sensing.Sensed) {
		t.Helper()
		cells := rows[at].named("th", "td")
		f, err := x.Figure(c.Value)
		if err != nil {
			t.Fatal(err)
		}
		checkFigure(t, s.On().String()+" "+r.Name+" gives", cells[gives].text(), "", f)
		if got := strings.ReplaceAll(cells[1].text(), noBreak, " "); !c.Stands && !strings.HasPrefix(got, strings.Replace(strings.Replace(c.Reading.Text, "-", "−", 1), "..", " to ", 1)) {
			t.Errorf("%s %s: written %q, want %q", s.On(), r.Name, got, c.Reading.Text)
		}
		at++
	}
	for _, tk := range s.Taken {
		for _, rt := range tk.Rails {
			if rt.Rail != r.Rail {
				continue
			}
			for _, v := range rt.Visits {
				for _, c := range v.Taps {
					check(c)
				}
				check(v.Voltage)
			}
		}
	}
	if at != len(rows) {
		t.Errorf("%s %s: %d readings on the page, %d in the tally", s.On(), r.Name, len(rows), at)
	}
}

func checkDifferences(t *testing.T, x *tally.Tally, table *element) {
	t.Helper()
	heads := table.named("thead")[0].named("th")
	rows := table.named("tbody")[0].named("tr")
	if len(rows) != len(x.Differences) {
		t.Fatalf("%d rows for %d differences", len(rows), len(x.Differences))
	}
	for i, d := range x.Differences {
		cells := rows[i].named("th", "td")
		first, second, _ := d.Names()
		if !strings.HasPrefix(cells[0].text(), first+" less "+second) {
			t.Errorf("difference %d is called %q", i, cells[0].text())
		}
		if got := strings.ReplaceAll(cells[1].class("verdict")[0].text(), noBreak, " "); got != d.VerdictText().String() {
			t.Errorf("verdict %q, want %q", got, d.VerdictText())
		}
		checkFigure(t, "difference", cells[2].text(), unitOf(heads[2]), d.Difference)
		checkFigure(t, "ratio", cells[3].text(), "", d.Ratio)
	}
}

func checkHeadlines(t *testing.T, x *tally.Tally, root *element) {
	t.Helper()
	var want []tally.Figure
	for _, b := range x.Boards {
		if s := tally.Fullest(b); s != nil {
			want = append(want, s.Total)
		}
	}
	for _, d := range x.Headlines() {
		want = append(want, d.Difference)
	}
	got := root.class("headline")
	if len(got) != len(want) {
		t.Fatalf("%d headlines, want %d", len(got), len(want))
	}
	for i, f := range want {
		unit := strings.Trim(got[i].class("unit")[0].text(), noBreak+" ")
		value := strings.TrimSuffix(got[i].class("big")[0].text(), got[i].class("unit")[0].text())
		checkFigure(t, "headline", value+" "+got[i].class("pm")[0].text(), unit, f)
	}
}

// Each way of dividing a variance divides all of it, and the parts are the
// tally's.
func TestBudgetsAreTheTallys(t *testing.T) {
	x := run(t, readStudy(t, "otter.yaml"))
	views, err := (&assembler{tongue: english(), t: x, anchors: newAnchors()}).budgets()
	if err != nil {
		t.Fatal(err)
	}
	var want []tally.Budget
	for _, b := range x.Boards {
		full, err := x.StateBudget(tally.Fullest(b))
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, full)
	}
	for _, d := range x.Differences {
		full, err := x.Budget(d.Difference)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, full)
	}
	if len(views) != len(want) {
		t.Fatalf("%d budgets, want %d", len(views), len(want))
	}
	number := regexp.MustCompile(`[0-9.]+`)
	for i, v := range views {
		if len(v.Groups) != 4 {
			t.Fatalf("%s: %d groups, want 4", v.Title, len(v.Groups))
		}
		for _, g := range v.Groups {
			sum := 0.0
			for _, text := range append(percents(g.Shares), number.FindAllString(afterColon(g.Shares.Rest), 1)...) {
				p, err := strconv.ParseFloat(number.FindString(text), 64)
				if err != nil {
					t.Fatal(err)
				}
				if strings.HasPrefix(text, "−") {
					p = -p
				}
				sum += p
			}
			// Each line is rounded by up to half a percent.
			if math.Abs(sum-100) > 0.5*float64(len(g.Shares.Rows)+1) {
				t.Errorf("%s, %s: the parts add up to %g %%", v.Title, g.Title, sum)
			}
		}
		for j, row := range v.Groups[0].Shares.Rows {
			if c := want[i].Causes[j]; row.Name != c.Name || row.Percent != english().percent(c.Fraction) {
				t.Errorf("%s: cause %d is %q with %s, the tally says %q with %g", v.Title, j, row.Name, row.Percent, c.Name, c.Fraction)
			}
		}
	}
}

func percents(s *shares) []string {
	var out []string
	for _, r := range s.Rows {
		out = append(out, r.Percent)
	}
	return out
}

func afterColon(s string) string {
	_, after, _ := strings.Cut(s, ": ")
	return after
}

// The matrix and the rails' parts open: every figure of theirs leads to a place
// on the page, the probabilities are those of the whole matrix, and the page of a
// large study stays bounded.
func TestMatrixAndPartsOpen(t *testing.T) {
	x := run(t, large(t, 3, 4, "Otter", "Marten"))
	root := parsePage(t, render(t, x, made))
	for _, b := range x.Boards {
		states := b.Complete()
		rows, err := x.Matrix(states)
		if err != nil {
			t.Fatal(err)
		}
		section := root.id(t, slug(b.Name)+"-matrix")
		trs := section.named("tbody")[0].named("tr")
		if want := len(states) * (len(states) - 1) / 2; len(trs) != want {
			t.Fatalf("%d lines for %d differences", len(trs), want)
		}
		unit := unitOf(section.named("th")[3])
		for _, row := range rows {
			for _, d := range row {
				tds := trs[0].named("td")
				checkFigure(t, "first", cellText(tds[0]), unit, d.First.Total)
				checkFigure(t, "second", cellText(tds[1]), unit, d.Second.Total)
				checkFigure(t, "difference", cellText(tds[2]), unit, d.Difference)
				if got, want := tds[5].text(), english().probability(d.FamilyP); got != want || d.FamilyP < d.P {
					t.Errorf("together %s, want %s", got, want)
				}
				for _, to := range tds[0].named("a") {
					if !root.id(t, strings.TrimPrefix(to.attr["href"], "#")).inside("details") {
						t.Errorf("%s does not open", to.attr["href"])
					}
				}
				trs = trs[1:]
			}
		}
		full := tally.Fullest(b)
		parts, err := x.RailParts(full)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		lines := root.id(t, slug(b.Name)).named("tbody")[0].named("tr")
		for i, p := range parts {
			share := p.Share
			share.Estimate, share.Expanded = 100*share.Estimate, 100*share.Expanded
			checkFigure(t, "part", cellText(lines[i].named("td")[0]), "", share)
			sum += share.Estimate
			if to := lines[i].named("a")[0].attr["href"]; to != "#"+slug(b.Name)+"-"+slug(full.State.Name)+"-"+slug(p.Name) {
				t.Errorf("%s opens to %s", p.Name, to)
			}
		}
		if len(lines) != len(parts) || math.Abs(sum-100) > 1e-9 {
			t.Errorf("%d parts make %g %%", len(lines), sum)
		}
	}
	many := parsePage(t, render(t, run(t, large(t, 2, 14, "A", "B", "C", "D", "E", "F")), made))
	matrices := 0
	for _, e := range many.named("details") {
		if e.attr["class"] == "pairs" {
			matrices++
			if n := len(e.named("tbody")[0].named("tr")); n != chart.MostStates*(chart.MostStates-1)/2 {
				t.Errorf("%d lines of a matrix", n)
			}
		}
	}
	if text := many.id(t, "matrix").text(); matrices != mostMatrices || !strings.Contains(text, "2 more are not drawn") || !strings.Contains(text, "the states of E and F") {
		t.Errorf("%d matrices; what is left out is not said: %.300s", matrices, text)
	}
}
