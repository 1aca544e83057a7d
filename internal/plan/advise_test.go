package plan

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"railtally/internal/study"
	"railtally/internal/studyfile"
)

// An aim that no instrument reaches gets a plain answer, and one that a better
// class reaches gets that class.
func TestBeyondTheShelf(t *testing.T) {
	plan := func(to string) Counsel {
		text := strings.Replace(heron, "  - {difference: Heron busy against Heron idle, to: 3 mW}\n  - {total: Heron busy, to: 0.1 %}\n", "  - {total: Heron busy, to: "+to+"}\n", 1)
		s, _, err := studyfile.Read("heron.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Make(context.Background(), s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return p.Counsels[0]
	}
	if c := plan("1 nW"); c.Reachable || len(c.Beyond) != len(classes) || !strings.Contains(c.Sentence(), "no matter of instruments") {
		t.Errorf("1 nW: reachable %v, %+v: %s", c.Reachable, c.Beyond, c.Sentence())
	}
	c := plan("10 mW")
	if n := len(c.Beyond); c.Reachable || n == 0 || !c.Beyond[n-1].Reaches || !strings.Contains(c.Sentence(), "What would") {
		t.Errorf("10 mW: reachable %v, %+v: %s", c.Reachable, c.Beyond, c.Sentence())
	}
	if c := plan("1 W"); !c.Reached() || len(c.Alone) > 0 {
		t.Errorf("1 W is not reached, or advice is given all the same: %s", c.Sentence())
	}
}

// Advice is sorted by gain per effort, and what is made together excludes nothing
// of its own.
func TestAdviceIsInOrder(t *testing.T) {
	s, _, err := studyfile.Read("heron.yaml", []byte(heron))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(context.Background(), s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range p.Counsels {
		for i := 1; i < len(c.Alone); i++ {
			if c.Alone[i].gain() > c.Alone[i-1].gain() {
				t.Errorf("%q gains more for its effort than %q before it", c.Alone[i].Text, c.Alone[i-1].Text)
			}
		}
		groups := map[string]bool{}
		for i, a := range c.Together {
			if groups[a.change.group] {
				t.Errorf("%q excludes another change", a.Text)
			}
			groups[a.change.group] = true
			if i > 0 && a.Before != c.Together[i-1].After {
				t.Errorf("%q begins at %g, and %g was reached", a.Text, a.Before, c.Together[i-1].After)
			}
		}
	}
}

// The search stops when it is told to.
func TestCancelled(t *testing.T) {
	s, _, err := studyfile.Read("heron.yaml", []byte(heron))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err = Make(ctx, s, Options{Progress: func(done, total int) {
		if done > total {
			t.Errorf("%d of %d", done, total)
		}
		if calls++; calls == 1 {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want that it was cancelled", err)
	}
}

// The sheet is whole in one file, shows every task with its cautions, and has
// room to write.
func TestSheet(t *testing.T) {
	s, _, err := studyfile.Read("heron.yaml", []byte(strings.Replace(heron, "does the busy state", "<b>does</b> the busy state", 1)))
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(context.Background(), s, Options{Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Sheet(&b, p, SheetOptions{Program: "railtally test"}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, w := range []string{"seed 7", "60 mm AWG 26", "@media print", "&lt;b&gt;does", "railtally test", CautionMains.Text()[:40], CautionPowerOff.Text()[:40], CautionFirst.Text()[:40]} {
		if !strings.Contains(page, w) {
			t.Errorf("the sheet lacks %q", w)
		}
	}
	for _, w := range []string{"<script", "http://", "https://", "src=\"", "<b>does"} {
		if strings.Contains(page, w) {
			t.Errorf("the sheet has %q", w)
		}
	}
	if n := strings.Count(page, "<li value="); n != len(p.Work) {
		t.Errorf("%d tasks on the sheet, %d planned", n, len(p.Work))
	}
	fields := 0
	for _, task := range p.Work {
		fields += len(task.Fields)
	}
	if n := strings.Count(page, `class="line"`); n != fields {
		t.Errorf("%d fields on the sheet, %d planned", n, fields)
	}
}

// Cautions stand at each step where iron or power is met.
func TestCautionsWhereTheHandMoves(t *testing.T) {
	p := one(t, "nominal: 1 V ±3 %, tap: clamp, loop: 60 mm AWG 18", "1 A")
	for _, task := range p.Work {
		has := func(c Caution) bool {
			for _, x := range task.Cautions {
				if x == c {
					return true
				}
			}
			return false
		}
		if i := slices.Index(task.Cautions, CautionPowerOff); i > 0 {
			t.Errorf("power off is not the first caution: %v", task.Cautions)
		}
		if task.Phase == PhaseOpen && strings.Contains(task.Text, "close it with") && !(has(CautionPowerOff) && has(CautionStatic) && has(CautionFumes) && has(CautionLoop)) {
			t.Errorf("soldering without its cautions: %+v", task)
		}
		if strings.HasPrefix(task.Text, "Power up") && !has(CautionFirst) {
			t.Errorf("first power without its caution: %+v", task)
		}
	}
	for _, c := range cautions {
		if c.Text() == string(c) || c.Short() == string(c) {
			t.Errorf("caution %q has no text", c)
		}
	}
}

// large is a board of twelve rails read with six instruments in forty states.
func large(b *testing.B) *study.Study {
	var t strings.Builder
	t.WriteString(`study: a large one
instruments:
  clamp a: {kind: clamp, scale: 1 mV per 10 mA, to: 20 A, spec: ±(1.5 % + 10 mA), position: ±0.5 %, zero drift: 5 mA per hour}
  clamp b: {kind: clamp, ranges: {low: {scale: 1 mV per 1 mA, to: 2 A, spec: ±(1 % + 2 mA), position: ±1 %}, high: {scale: 10 mV/A, to: 60 A, spec: ±(2 % + 50 mA)}}}
  clamp c: {kind: clamp, scale: 100 mV/A, to: 5 A, spec: ±(1 % + 3 mA), zero drift: 2 mA per hour}
  small shunt: {kind: shunt, resistance: 10 mΩ ±1 %}
  meter a: {kind: meter, ranges: {50 mV: {digit: 0.01 mV, spec: ±(0.2 % + 3 digits)}, 500 mV: {digit: 0.1 mV, spec: ±(0.2 % + 2 digits)}, 5 V: {digit: 1 mV, spec: ±(0.1 % + 1 digit)}}}
  meter b: {kind: meter, ranges: {500 mV: {digit: 0.1 mV, spec: ±(0.5 % + 3 digits)}, 5 V: {digit: 1 mV, spec: ±(0.3 % + 2 digits)}}}
boards:
  Heron:
    rails:
`)
	for i := range 12 {
		fmt.Fprintf(&t, "      r%d: {nominal: %.1f V ±5 %%, tap: %s, loop: 80 mm AWG 20}\n", i, 1+0.2*float64(i), []string{"clamp a", "clamp b low", "clamp c"}[i%3])
	}
	t.WriteString("states:\n")
	for i := range 40 {
		fmt.Fprintf(&t, "  s%d: {f: l%d, g: m%d}\n", i, i%8, i/8)
	}
	t.WriteString("aims:\n")
	for i := range 6 {
		fmt.Fprintf(&t, "  - {difference: Heron s%d against Heron s%d, to: 2 mW}\n", i+1, i)
	}
	t.WriteString("  - {total: Heron s39, to: 0.1 %}\nexpected:\n  Heron:\n")
	for i := range 12 {
		fmt.Fprintf(&t, "    r%d: {s3: {current: %d mA, scatter: 2 mA}, otherwise: %d mA}\n", i, 60+60*i, 50+60*i)
	}
	s, _, err := studyfile.Read("large.yaml", []byte(t.String()))
	if err != nil {
		b.Fatal(err)
	}
	return s
}

// BenchmarkPlanLarge makes the whole plan with its search for advice.
func BenchmarkPlanLarge(b *testing.B) {
	s := large(b)
	for b.Loop() {
		p, err := Make(context.Background(), s, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if p.Reached() {
			b.Fatal("nothing was searched")
		}
	}
}

// BenchmarkPlanHeron makes a small plan.
func BenchmarkPlanHeron(b *testing.B) {
	s, _, err := studyfile.Read("heron.yaml", []byte(heron))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Make(context.Background(), s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
