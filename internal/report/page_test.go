package report

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

var update = flag.Bool("update", false, "write the golden files anew")

func readStudy(t *testing.T, name string) *study.Study {
	t.Helper()
	s, _, err := studyfile.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func run(t *testing.T, s *study.Study) *tally.Tally {
	t.Helper()
	x, err := tally.Run(s, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func render(t *testing.T, x *tally.Tally, opt Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Page(&b, x, opt); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var made = Options{Program: "railtally", On: time.Date(2026, 3, 16, 0, 0, 0, 0, time.UTC)}

// The style and the drawings have goldens of their own, where they are made.
var (
	style   = regexp.MustCompile(`(?s)<style>.*?</style>`)
	drawing = regexp.MustCompile(`(?s)(<div class="on-(?:wide|narrow)">).*?</svg>\s*(</div>)`)
)

func TestGolden(t *testing.T) {
	got := render(t, run(t, readStudy(t, "otter.yaml")), made)
	got = style.ReplaceAllString(got, "<style></style>")
	got = drawing.ReplaceAllString(got, "$1$2")
	const name = "testdata/otter.golden.html"
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got == string(want) {
		return
	}
	g, w := strings.Split(got, "\n"), strings.Split(string(want), "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			t.Fatalf("line %d differs:\n got %s\nwant %s", i+1, g[i], w[i])
		}
	}
	t.Fatalf("the page has %d lines, want %d", len(g), len(w))
}

func TestSameTallySamePage(t *testing.T) {
	s := readStudy(t, "otter.yaml")
	if render(t, run(t, s), made) != render(t, run(t, s), made) {
		t.Error("two pages of one study differ")
	}
}

// pages are the studies that every page must hold for.
func pages(t *testing.T) map[string]*tally.Tally {
	t.Helper()
	return map[string]*tally.Tally{
		"otter": run(t, readStudy(t, "otter.yaml")),
		"every": run(t, readStudy(t, "every.yaml")),
		"alike": run(t, alike(t)),
		"empty": run(t, &study.Study{Level: study.DefaultLevel}),
		"unmeasured": run(t, &study.Study{
			Question: "Nothing yet?", Level: study.DefaultLevel,
			Boards: []*study.Board{{Name: "Otter"}}, States: []*study.State{{Name: "bare"}},
		}),
		"nasty": run(t, nasty(t)),
		"large": run(t, large(t, 12, 40, "Otter")),
	}
}

func TestStructure(t *testing.T) {
	for name, x := range pages(t) {
		t.Run(name, func(t *testing.T) {
			page := render(t, x, made)
			root := parsePage(t, page)
			checkAnchors(t, root)
			checkTables(t, root)
			checkHeadings(t, root)
			checkAlone(t, page, root)
			if n := len(page); n > 5<<20 {
				t.Errorf("the page has %d bytes, want 5 MB at most", n)
			}
			if html := root.named("html"); len(html) != 1 || html[0].attr["lang"] != "en-GB" {
				t.Error("the language is not said")
			}
			if strings.Contains(page, "ZgotmplZ") {
				t.Error("a template put something where it is not safe")
			}
			if s := regexp.MustCompile(`NaN|Inf\b|no value|%!|<nil>`).FindString(root.named("body")[0].text()); s != "" {
				t.Errorf("the page says %q", s)
			}
		})
	}
}

// checkAnchors wants every anchor once, and every reference to lead somewhere.
func checkAnchors(t *testing.T, root *element) {
	t.Helper()
	ids := map[string]bool{}
	for _, e := range root.find(func(e *element) bool { return e.attr["id"] != "" }) {
		if ids[e.attr["id"]] {
			t.Errorf("id %q twice", e.attr["id"])
		}
		ids[e.attr["id"]] = true
		if strings.ContainsAny(e.attr["id"], " \t\n\"'<>&") {
			t.Errorf("id %q cannot be linked", e.attr["id"])
		}
	}
	for _, e := range root.named("a") {
		to, ok := strings.CutPrefix(e.attr["href"], "#")
		if un, err := unescape(to); !ok || err != nil || !ids[un] {
			t.Errorf("link %q leads nowhere", e.attr["href"])
		}
	}
	for _, e := range root.find(func(e *element) bool { return e.attr["aria-labelledby"] != "" }) {
		for _, id := range strings.Fields(e.attr["aria-labelledby"]) {
			if !ids[id] {
				t.Errorf("<%s> is labelled by %q, which is not there", e.name, id)
			}
		}
	}
}

// A link opens a details element only when it leads inside it.
func TestFiguresOpen(t *testing.T) {
	root := parsePage(t, render(t, run(t, readStudy(t, "otter.yaml")), made))
	figures := append(root.class("fig"), root.class("headlines")[0].named("a")[:2]...)
	if len(figures) < 30 {
		t.Fatalf("%d figures can be opened", len(figures))
	}
	for _, a := range figures {
		id, err := unescape(strings.TrimPrefix(a.attr["href"], "#"))
		if err != nil {
			t.Fatal(err)
		}
		if e := root.id(t, id); !e.inside("details") {
			t.Errorf("%q leads to <%s>, which does not open", id, e.name)
		}
	}
}

// checkTables wants captions, heads with their scope, as many cells in each row
// as heads, and a name and the keyboard for what scrolls.
func checkTables(t *testing.T, root *element) {
	t.Helper()
	for _, table := range root.named("table") {
		caption := table.named("caption")
		if len(caption) != 1 || caption[0].text() == "" {
			t.Fatalf("a table without a caption: %.80s", table.text())
		}
		for _, th := range table.named("th") {
			if th.attr["scope"] == "" {
				t.Errorf("%s: head %q without scope", caption[0].text(), th.text())
			}
		}
		heads := len(table.named("thead")[0].named("th"))
		for _, tr := range table.named("tr") {
			if n := len(tr.named("th", "td")); n != heads {
				t.Errorf("%s: %d cells under %d heads: %s", caption[0].text(), n, heads, tr.text())
			}
		}
		if p := table.parent; p.attr["tabindex"] != "0" || p.attr["role"] == "" || p.attr["aria-labelledby"] != caption[0].attr["id"] {
			t.Errorf("%s: what scrolls has no name or cannot be reached by keyboard", caption[0].text())
		}
	}
}

func checkHeadings(t *testing.T, root *element) {
	t.Helper()
	last := 0
	for _, h := range root.named("h1", "h2", "h3", "h4", "h5", "h6") {
		level := int(h.name[1] - '0')
		if level > last+1 {
			t.Errorf("%s %q follows a heading of level %d", h.name, h.text(), last)
		}
		if h.text() == "" {
			t.Errorf("an empty %s", h.name)
		}
		last = level
	}
	if n := len(root.named("h1")); n != 1 {
		t.Errorf("%d titles, want 1", n)
	}
	for _, name := range []string{"header", "main", "nav", "footer"} {
		if n := len(root.named(name)); n != 1 {
			t.Errorf("%d landmarks %s, want 1", n, name)
		}
	}
}

// checkAlone wants a page that asks nothing of the network and runs nothing.
func checkAlone(t *testing.T, page string, root *element) {
	t.Helper()
	for _, e := range root.named("script", "link", "iframe", "object", "embed", "img", "base", "form") {
		t.Errorf("<%s> on the page", e.name)
	}
	for _, e := range root.find(func(*element) bool { return true }) {
		for name, value := range e.attr {
			switch {
			case strings.HasPrefix(name, "on"):
				t.Errorf("<%s> has a handler %s", e.name, name)
			case (name == "href" || name == "src" || name == "srcset") && !strings.HasPrefix(value, "#"):
				t.Errorf("<%s> asks for %q", e.name, value)
			case strings.Contains(value, "url("):
				t.Errorf("<%s> has %s=%q", e.name, name, value)
			}
		}
	}
	css := style.FindString(page)
	for _, u := range regexp.MustCompile(`url\(([^)]{0,20})`).FindAllStringSubmatch(css, -1) {
		if !strings.HasPrefix(u[1], "data:") {
			t.Errorf("the style asks for %q", u[1])
		}
	}
	if strings.Contains(css, "@import") {
		t.Error("the style imports another")
	}
	bare := strings.ReplaceAll(page, "http://www.w3.org/2000/svg", "")
	if s := regexp.MustCompile(`(?i)(https?:|//[a-z])[^"' ]{0,40}`).FindString(style.ReplaceAllString(bare, "")); s != "" {
		t.Errorf("an address on the page: %q", s)
	}
}

// alike is a study whose names read like the page's own anchors, and which
// asks for one difference twice.
func alike(t *testing.T) *study.Study {
	t.Helper()
	const text = `
study: Names that read alike
instruments:
  top:
    kind: clamp
    ranges:
      low: {scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}
  main: {kind: meter, ranges: {500 mV: {digit: 0.1 mV, spec: ±0.5 %}, 5 V: {digit: 1 mV, spec: ±0.3 %}}}
boards:
  sitting: {rails: {table: {nominal: 1 V, tap: top}}}
  totals-head: {rails: {budget: {nominal: 1 V, tap: top}, caption: {nominal: 2 V, tap: top}}}
states:
  table: {n: 1}
  budget: {n: 2}
  method: {n: 3}
compare: [sitting table against totals-head table, sitting table against sitting budget, sitting table against sitting budget]
bench: {meter: main}
sittings:
  - name: table
    board: sitting
    on: 2026-03-14
    steps:
      - {state: table, table: {i: 40.1 mV, v: 1.000 V}}
      - {state: budget, table: {i: 42.1 mV, v: 1.000 V}}
      - {state: method, table: {i: 44.1 mV, v: 1.000 V}}
  - name: answer
    board: totals-head
    on: 2026-03-14
    steps:
      - {state: table, budget: {i: 40.0 mV, v: 1.001 V}, caption: {i: 10.0 mV, v: 2.001 V}}
`
	s, _, err := studyfile.Read("alike.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// nasty is the small study with names that would break out of a page.
func nasty(t *testing.T) *study.Study {
	t.Helper()
	s := readStudy(t, "otter.yaml")
	const bad = `"><script>alert('&')</script>`
	s.Question, s.Note = `What is "it" & why <script>alert(1)</script>?`, bad
	was, is := s.Boards[0].Name, `Otter "a" <b>&amp;</b>`
	rename := func(name *string) {
		if *name == was {
			*name = is
		}
	}
	s.Boards[0].Name, s.Boards[0].Chip, s.Boards[0].Note = is, bad, bad
	for i := range s.Comparisons {
		rename(&s.Comparisons[i].First.Board)
		rename(&s.Comparisons[i].Second.Board)
	}
	rail := s.Boards[0].Rails[0]
	old := rail.Name
	rail.Name, rail.Note = `core' onclick='x`, bad
	state := s.States[0].Name
	s.States[0].Name = `</style><img src=x onerror=alert(1)>`
	for i := range s.Comparisons {
		for _, on := range []*study.StateOn{&s.Comparisons[i].First, &s.Comparisons[i].Second} {
			if on.State == state {
				on.State = s.States[0].Name
			}
		}
	}
	for _, sit := range s.Sittings {
		rename(&sit.Board)
		sit.By, sit.Note = bad, bad
		for _, st := range sit.Steps {
			st.Note = bad
			if st.State == state {
				st.State = s.States[0].Name
			}
			for _, z := range st.Zeros {
				if z.Rail == old {
					z.Rail = rail.Name
				}
			}
			for _, rr := range st.Rails {
				if rr.Rail == old && sit.Board == is {
					rr.Rail, rr.Note = rail.Name, bad
				}
			}
			for _, n := range st.Temperatures {
				n.Name = bad
			}
		}
	}
	for _, in := range s.Instruments {
		in.Ident, in.Note = bad, bad
	}
	return s
}

func TestNamesAreText(t *testing.T) {
	s := nasty(t)
	root := parsePage(t, render(t, run(t, s), Options{Program: `<b>"railtally"</b>`}))
	if got := root.named("h1")[0].text(); got != s.Question {
		t.Errorf("title %q, want %q", got, s.Question)
	}
	if got := root.named("title")[0].text(); got != s.Question {
		t.Errorf("title of the window %q, want %q", got, s.Question)
	}
	body := root.named("body")[0].text()
	for _, want := range []string{s.Boards[0].Name, s.Boards[0].Rails[0].Name, s.States[0].Name, s.Boards[0].Chip, `<b>"railtally"</b>`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestEmpty(t *testing.T) {
	root := parsePage(t, render(t, run(t, &study.Study{Level: study.DefaultLevel}), Options{}))
	if s := root.named("body")[0].text(); !strings.Contains(s, "Nothing has been measured") {
		t.Errorf("an empty study does not say so: %.200s", s)
	}
}

// large makes a study of many rails and states.
func large(t *testing.T, rails, states int, boards ...string) *study.Study {
	t.Helper()
	x, _, err := studyfile.Read("large.yaml", []byte(largeText(rails, states, boards...)))
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func largeText(rails, states int, boards ...string) string {
	var b strings.Builder
	b.WriteString("study: How large may a page become?\ninstruments:\n  clamp:\n    kind: clamp\n    ranges:\n      low: {scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}\n" +
		"  meter:\n    kind: meter\n    ranges:\n      500 mV: {digit: 0.1 mV, spec: ±(0.5 % + 2 digits)}\n      5 V: {digit: 1 mV, spec: ±(0.3 % + 2 digits)}\nboards:\n")
	for _, board := range boards {
		fmt.Fprintf(&b, "  %s:\n    defaults: {tap: clamp low, feed: bead}\n    rails:\n", board)
		for r := range rails {
			fmt.Fprintf(&b, "      rail %d: {nominal: 1.8 V ±5 %%}\n", r)
		}
	}
	b.WriteString("states:\n")
	for s := range states {
		fmt.Fprintf(&b, "  state-%d: {step: %d}\n", s, s)
	}
	b.WriteString("bench: {meter: meter}\nsittings:\n")
	for i, board := range boards {
		fmt.Fprintf(&b, "  - board: %s\n    on: 2026-03-%d\n    steps:\n      - zero: {clamp: 0.1 mV}\n", board, 14+i)
		for s := range states {
			fmt.Fprintf(&b, "      - state: state-%d\n", s)
			for r := range rails {
				fmt.Fprintf(&b, "        rail %d: {i: %d.%d mV, v: 1.80%d V}\n", r, 40+3*r+s, (r+i)%10, (r+s)%10)
			}
		}
	}
	return b.String()
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriterFails(t *testing.T) {
	if err := Page(broken{}, run(t, readStudy(t, "otter.yaml")), made); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("got %v, want the writer's error", err)
	}
}

// An entry is firm where it must not break, and only there.
func TestProse(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"draws 6.68 ± 0.10 W in 4 states", "draws 6.68_±_0.10_W in 4 states"},
		{"beyond 30 % of 5 V.", "beyond 30_% of 5_V."},
		{"±(0.5 % of reading + 2 digits)", "±(0.5_% of reading + 2 digits)"},
		{"1 Otter", "1 Otter"},
		{"k = 2.0", "k_=_2.0"},
		{"85 mW and 3 mV", "85_mW and 3_mV"},
	} {
		if got := strings.ReplaceAll(english().prose(c.in), noBreak, "_"); got != c.want {
			t.Errorf("prose(%q) is %q, want %q", c.in, got, c.want)
		}
	}
}

func TestAnchorsDiffer(t *testing.T) {
	a := newAnchors("top")
	seen := map[string]bool{}
	for _, names := range [][]string{{"Otter", "one-busy"}, {"Otter one", "busy"}, {"Otter-one-busy"}, {"top"}, {"***"}, {"!!!"}, {"été", "Ω"}, {"0"}} {
		id := a.id(names...)
		if seen[id] || id == "top" || id == "" {
			t.Errorf("%q has the anchor %q of another", names, id)
		}
		seen[id] = true
		if a.id(names...) != id {
			t.Errorf("%q has two anchors", names)
		}
	}
	if got := newAnchors().id("Otter", "one-busy"); got != "Otter-one-busy" {
		t.Errorf("anchor %q, want Otter-one-busy", got)
	}
}

func TestPercent(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{{0, "0_%"}, {0.0004, "<_0.1_%"}, {0.0005, "0.1_%"}, {0.0994, "9.9_%"}, {0.0996, "10_%"}, {0.56, "56_%"}, {-0.02, "−2.0_%"}} {
		if got := strings.ReplaceAll(english().percent(c.x), noBreak, "_"); got != c.want {
			t.Errorf("percent(%g) is %q, want %q", c.x, got, c.want)
		}
	}
}

func TestBound(t *testing.T) {
	for _, c := range []struct {
		text   string
		lo, hi float64
	}{{"0..25 mA", 0, 0.025}, {"10 ± 2 mA", 0.008, 0.012}, {"up to 5 mA", 0, 0.005}} {
		e, err := quantity.Parse(c.text, quantity.Ampere, "")
		if err != nil {
			t.Fatal(err)
		}
		if lo, hi := bound(&study.Rail{Bound: &e}); !near(lo, c.lo) || !near(hi, c.hi) {
			t.Errorf("%s: %g to %g, want %g to %g", c.text, lo, hi, c.lo, c.hi)
		}
	}
}

func BenchmarkPage(b *testing.B) {
	s, _, err := studyfile.Open("testdata/otter.yaml")
	if err != nil {
		b.Fatal(err)
	}
	x, err := tally.Run(s, tally.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := Page(io.Discard, x, made); err != nil {
			b.Fatal(err)
		}
	}
}
