package report

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"railtally/internal/quantity"
	"railtally/internal/studyfile"
	"railtally/internal/tally"
)

// What JCGM 100:2008, clause 7.2, asks of a report of a measurement, item by
// item, and where the full page gives it. The clause's own words are shortened.
func TestClause7(t *testing.T) {
	x := run(t, readStudy(t, "otter.yaml"))
	root := parsePage(t, render(t, x, made))
	section := func(id string) *element { return root.id(t, id) }
	says := func(id, pattern string) {
		t.Helper()
		text := strings.ReplaceAll(section(id).text(), noBreak, " ")
		if !regexp.MustCompile(pattern).MatchString(text) {
			t.Errorf("section %s does not give %q", id, pattern)
		}
	}

	// 7.2.1 a) and 7.2.7 d): the methods, with the functional relationship.
	says("method", `voltage times current, and the power of the chip is the sum over its rails`)
	says("method", `I = S · c · \(1 \+ g\) · \[ Y\(y\) − Y\(z\) − d \] · \(1 \+ p\) / N`)
	says("method", `propagated by the law of propagation of JCGM 100:2008`)
	// 7.2.1 b): all components of uncertainty, and how each was evaluated.
	says("budget", `By cause.*By instrument.*By rail.*Largest single inputs`)
	says("method", `Repeated readings carry the scatter of their mean.*A band .* counts as lying anywhere.*half its last digit.*An accuracy line without a stated probability counts as a limit`)
	for _, g := range section("budget").class("quarter") {
		if len(g.class("share-u")) == 0 {
			t.Errorf("%s gives no standard uncertainty", g.text())
		}
	}
	// 7.2.1 c) and 7.2.7 a): each step can be followed; every input estimate stands
	// there as it was written, with the instrument that showed it.
	for _, b := range x.Boards {
		for _, s := range b.States {
			for _, r := range s.Rails {
				for _, tk := range s.Taken {
					for _, rt := range tk.Rails {
						if rt.Rail != r.Rail {
							continue
						}
						for _, v := range rt.Visits {
							for _, c := range v.Taps {
								if want := english().inWords(c.Reading.Entry); !strings.Contains(section("opened").text(), want) {
									t.Errorf("%s %s: the reading %q is missing", s.On(), r.Name, want)
								}
							}
						}
					}
				}
			}
		}
	}
	// 7.2.1 d): corrections and constants, with their sources.
	says("opened", `The zero is taken off|The zero at the time of the reading`)
	says("opened", `Divided by \d+ turns`)
	for _, in := range x.Study.Instruments {
		says("instruments", regexp.QuoteMeta(in.Name))
	}
	says("instruments", `Calibration: correction factor|No calibration is recorded`)
	// 7.2.3 a), 7.2.4: what is measured, on what, when, in which state.
	says("top", `Power of the chip on Otter`)
	for _, s := range x.Boards[0].States {
		for _, l := range s.State.Levels {
			says("opened", regexp.QuoteMeta(l.Factor)+": "+regexp.QuoteMeta(l.Value))
		}
	}
	// 7.2.3 b), c), e): y ± U with unit, the relative uncertainty being plain from
	// it; k and the probability.
	for _, b := range x.Boards {
		for _, s := range b.States {
			if s.Complete {
				says("opened", regexp.QuoteMeta(strings.ReplaceAll(english().stated(s.Total, quantity.Watt), noBreak, " ")))
			}
		}
	}
	says("opened", `standard uncertainty [\d.]+ m?W, times k = [\d.]+ with`)
	says("reading", `95 % coverage interval`)
	// 7.2.6: two digits of uncertainty, the estimate to the same place; checked
	// figure by figure in TestFiguresAreTheTallys. Here that it is said.
	says("reading", `two significant digits`)
	// 7.2.7 b): what is correlated, and by which cause.
	says("method", `Readings that share a cause share its error`)
	// 7.2.7 c): the degrees of freedom.
	says("opened", `degrees of freedom`)
	says("sittings", `degrees? of freedom|not assessed`)
	// What the result leaves out is said, too.
	says("not-assessed", `Other specimens`)
}

// The full page of a large study, 40 states with 12 rails.
func BenchmarkLargePage(b *testing.B) {
	s, _, err := studyfile.Read("large.yaml", []byte(largeText(12, 40, "Otter")))
	if err != nil {
		b.Fatal(err)
	}
	size := 0
	for b.Loop() {
		x, err := tally.Run(s, tally.Options{})
		if err != nil {
			b.Fatal(err)
		}
		var out bytes.Buffer
		if err := Page(&out, x, made); err != nil {
			b.Fatal(err)
		}
		size = out.Len()
	}
	b.ReportMetric(float64(size)/1e6, "MB")
}
