package report

import (
	"strings"
	"testing"

	"railtally/internal/phrase"
	"railtally/internal/studyfile"
)

const tried = `study: did the surgery change anything?
instruments:
  clamp: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA)}
  meter: {kind: meter, ranges: {500 mV: {digit: 0.1 mV, spec: ±(0.3 % + 2 digits)}, 50 V: {digit: 10 mV, spec: ±(0.1 % + 1 digit)}, 10 A: {digit: 1 mA, spec: ±(0.3 % + 2 digits)}}}
boards:
  Heron:
    rails:
      core: {nominal: 1 V ±3 %, tap: clamp, loop: 60 mm AWG 18}
      core again: {nominal: 1 V ±3 %, tap: clamp ×2, loop: 90 mm AWG 18, enters the chip: no, checks: core}
    inputs:
      supply: {nominal: 12 V ±5 %, tap: series meter meter 10 A}
states: {idle: {}, loaded: {}}
proofs:
  - {board: Heron, rail: core, with: loaded, without: idle, resistance: 10 Ω ±1 %}
bench: {meter: meter}
sittings:
  - {board: Heron, name: before opening, on: 2026-05-01, steps: [{state: idle, supply: {i: 0.400 A, v: 12.00 V}}]}
  - {board: Heron, name: loops closed, on: 2026-05-02, steps: [{state: idle, supply: {i: 0.401 A, v: 12.00 V}}]}
  - board: Heron
    on: 2026-05-03
    steps:
      - zero: {clamp: 0.0 mV}
      - {state: idle, core: {i: 200.0 mV, v: 1.00 V}, core again: {i: 300.0 mV, v: 1.00 V}}
`

// Each trial stands on the page with its two values, their difference and what it
// means; what does not hold is a finding too, what was planned and not made is said.
func TestTrials(t *testing.T) {
	s, _, err := studyfile.Read("tried.yaml", []byte(tried))
	if err != nil {
		t.Fatal(err)
	}
	german, err := phrase.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	for lang, want := range map[*phrase.Language][]string{
		phrase.English(): {`<h2 id="trials--head">Trials</h2>`, "Did opening the rails change the board?", "Opening the rails changed nothing that can be seen", "agree</span>",
			"disagree</span>", "One current read twice comes out differently", "Count the turns", "Planned and not made", "must add 100", "href=\"#trials\""},
		german: {">Proben</h2>", "Hat das Auftrennen der Schienen die Platine verändert?", "nichts Sichtbares verändert", "Ein Strom, zweimal abgelesen, kommt verschieden heraus",
			"Zählen Sie die Windungen", "Geplant und nicht gemacht"},
	} {
		page := strings.ReplaceAll(strings.ReplaceAll(render(t, run(t, s), Options{Language: lang}), "\u00a0", " "), "\u202f", " ")
		for _, w := range want {
			if !strings.Contains(page, w) {
				t.Errorf("%s: the page lacks %q", lang.Tag(), w)
			}
		}
		if strings.Contains(page, "reading of its input before and after") {
			t.Errorf("%s: a trial that was made is called not assessed", lang.Tag())
		}
	}
}
