package report

import (
	"slices"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

func TestSections(t *testing.T) {
	for _, c := range []struct {
		opt  Options
		want string // sections, or what the error says
	}{
		{Options{}, strings.Join(SectionNames(), " ")},
		{Options{Length: Short}, "answer totals differences claims cooling findings not-assessed reading"},
		{Options{Sections: []string{"method", "answer"}}, "answer method"},
		{Options{Length: Short, Sections: []string{"+method", "-cooling", "-claims"}}, "answer totals differences method findings not-assessed reading"},
		{Options{Sections: []string{"summary"}}, `"summary": answer, totals`},
		{Options{Length: "middling"}, `"middling": full or short`},
		{Options{Length: Short, Sections: []string{"-answer", "-totals", "-differences", "-claims", "-cooling", "-findings", "-not-assessed", "-reading"}}, "no section is left"},
	} {
		got, err := c.opt.sections()
		if err != nil {
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%+v: %v", c.opt, err)
			}
			continue
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%+v: %s, want %s", c.opt, s, c.want)
		}
	}
}

// Whatever is left out, the page is whole: every link leads somewhere, every
// section that is named is there and no other.
func TestPartsOfThePage(t *testing.T) {
	x := run(t, readStudy(t, "every.yaml"))
	whole := parsePage(t, render(t, x, made))
	for _, names := range [][]string{{"answer"}, {"totals", "reading"}, {"opened"}, {"budget", "sittings"}, {"-opened", "-budget"}, {"differences", "method", "findings"}} {
		opt := made
		opt.Sections = names
		page := render(t, x, opt)
		root := parsePage(t, page)
		checkAnchors(t, root)
		checkTables(t, root)
		checkHeadings(t, root)
		checkAlone(t, page, root)
		chosen, err := opt.sections()
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range SectionNames() {
			there := slices.ContainsFunc(root.named("section"), func(e *element) bool { return e.attr["id"] == name })
			could := slices.ContainsFunc(whole.named("section"), func(e *element) bool { return e.attr["id"] == name })
			if want := could && slices.Contains(chosen, name); there != want {
				t.Errorf("%v: section %s is there: %v, want %v", names, name, there, want)
			}
		}
	}
	short := made
	short.Length = Short
	page := render(t, x, short)
	checkAnchors(t, parsePage(t, page))
	if 2*len(page) > len(render(t, x, made)) {
		t.Errorf("the short page has %d bytes", len(page))
	}
}

func worded(t *testing.T, words string) *tally.Tally {
	t.Helper()
	s := readStudy(t, "otter.yaml")
	s.Words = words
	return run(t, s)
}

// A figure in the author's words is the result's, whatever the readings are.
func TestWords(t *testing.T) {
	text := "In all, <b>the chip</b> draws {total Otter four-busy}.\nIts core takes {rail Otter four-busy core}.\n\nThat is {gap Otter bare against Otter four-busy}, or {ratio Otter bare against Otter four-busy}, apart: {verdict Otter bare against Otter four-busy}. " +
		"Claim one {judgement 1} with {claim 1}."
	x := worded(t, text)
	on := func(state string) study.StateOn { return study.StateOn{Board: "Otter", State: state} }
	full, bare := x.State(on("four-busy")), x.State(on("bare"))
	d, err := x.Compare(bare, full)
	if err != nil {
		t.Fatal(err)
	}
	en := english()
	gap := d.Difference
	gap.Estimate = -gap.Estimate
	root := parsePage(t, render(t, x, made))
	said := root.id(t, "answer").named("p")
	want := "In all, <b>the chip</b> draws " + en.stated(full.Total, quantity.Watt) + ". Its core takes " + en.stated(full.Rail("core").Power, quantity.Watt) + "."
	if got := said[0].text(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for _, want := range []string{en.stated(gap, quantity.Watt), en.stated(d.Ratio, quantity.None), string(d.Verdict), string(x.Claims[0].Judgement), string(x.Claims[0].FigureText())} {
		if got := said[1].text(); !strings.Contains(strings.ReplaceAll(got, noBreak, " "), strings.ReplaceAll(want, noBreak, " ")) {
			t.Errorf("%q lacks %q", got, want)
		}
	}
	if links := said[0].named("a"); len(links) != 2 || !root.id(t, strings.TrimPrefix(links[0].attr["href"], "#")).inside("details") {
		t.Errorf("the figures do not open: %d links", len(links))
	}
	if w, err := CheckWords(x, x.Study.Words); err != nil || len(w) != 0 {
		t.Errorf("%v, %v", w, err)
	}
}

func TestWordsAreChecked(t *testing.T) {
	for words, want := range map[string]string{
		"It draws {total Oter busy}.":                       `paragraph 1: {total Oter busy}: no state with a total is called "Oter busy": Otter`,
		"First.\n\nIt draws {power Otter bare}.":            "paragraph 2: {power Otter bare}: it stands for nothing: total, rail,",
		"It draws {total Otter bare":                        "a brace is not closed",
		"It draws {difference Otter bare}":                  "two states are accepted",
		"It draws {rail Otter bare none}":                   "no rail is called",
		"It draws {claim 99}":                               `no claim has the number "99"`,
		"It adds {effect Otter fan on}":                     "no effect",
		"It draws {gap Otter bare against Otter not there}": "no state with a total",
	} {
		if _, err := CheckWords(worded(t, ""), words); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", words, err, want)
		}
	}
	w, err := CheckWords(worded(t, ""), "It draws 6.7 W and {total Otter bare}, 12 % more at 25 °C, in 4 states of 2026.")
	if err != nil || len(w) != 3 || !strings.Contains(w[0], `"6.7 W" is typed plainly`) {
		t.Errorf("%q, %v", w, err)
	}
}
