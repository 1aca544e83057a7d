package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"railtally/internal/study"
)

// In a browser: the search begins by itself and shows what it found; currents and
// loops are judged while they are typed, without a page being loaded; an order that
// is chosen is what the bench then asks for.
func TestPlanCheckInBrowser(t *testing.T) {
	s, nb, id := unreadExample(t)
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.look(820, "light")
	b.open(at("studies", id, "plan", "checks"))
	b.until("document.querySelector('#search').textContent.includes('this into the plan')")
	eval[bool](b, "window.same = true")
	b.retype(`[aria-label="core in four-busy"]`, "12 A")
	b.until("document.querySelector('#tried').textContent.includes('kept:')")
	b.retype(`[aria-label="core in four-busy"]`, "a lot")
	b.until("document.querySelector('#tried').textContent.includes('Accepted:')")
	if !eval[bool](b, "window.same === true") {
		t.Error("a page was loaded while somebody typed")
	}
	b.picture("plan-checks-typed")
	b.accessible()

	b.open(at("studies", id, "plan", "boards", "Otter", "rails", "link"))
	b.until("document.querySelector('#rail-check').textContent.includes('drops')")
	eval[bool](b, "window.same = true")
	b.retype("[name='loop.0']", "3 m AWG 36")
	b.until("document.querySelector('#rail-check .grade.wrong') !== null")
	b.retype("[name='loop.0']", "60 mm AWG 99")
	b.until("document.querySelector('#rail-check').textContent.includes('Accepted:')")
	if !eval[bool](b, "window.same === true") {
		t.Error("a page was loaded while somebody typed")
	}
	b.retype("[name='loop.0']", "60 mm AWG 20")
	b.until("document.querySelector('#rail-check').textContent.includes('becomes of the aims')")
	b.picture("plan-rail-typed")
	b.accessible()

	b.open(at("studies", id, "plan", "checks"))
	eval[bool](b, "window.same = true")
	turns := func() string {
		return eval[string](b, "[...document.querySelectorAll('#order-now .order-states')[1].querySelectorAll('.row-name')].map(x => x.textContent).join(' ')")
	}
	was := turns()
	second := strings.Fields(was)[1]
	b.click(`[id="up-Otter%2F` + second + `"]`)
	b.until("[...document.querySelectorAll('#order-now .order-states')[1].querySelectorAll('.row-name')][0].textContent === '" + second + "'")
	b.click(`[id="pin-Otter%2F` + second + `"]`)
	b.until("document.querySelectorAll('#order-now .pinned').length === 1")
	b.until("document.querySelector('#search').textContent.includes('this into the plan')") // searched anew, for the new order
	if !eval[bool](b, "window.same === true") {
		t.Error("a page was loaded while the order was edited")
	}
	kept := planNow(t, nb, id).Study
	if x := kept.Turns("Otter"); len(x) != 6 || x[0].State != second || !x[0].Pinned {
		t.Errorf("the order was not kept: %s, then %v", was, x)
	}
	// Other forms of the page are made from the new revision.
	eval[bool](b, "document.querySelector('[name=out]').click(); true")
	b.until("document.readyState === 'complete' && document.querySelector('.said') !== null")
	if n := len(planNow(t, nb, id).Study.Aims); n != len(kept.Aims)-1 {
		t.Errorf("%d aims after one was taken out of %d", n, len(kept.Aims))
	}
	if f := study.Check(planNow(t, nb, id).Study); len(f) > 0 {
		t.Error(f)
	}
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
}

// retype fills a field that may hold something, keeping the page's own events.
func (b *browser) retype(sel, text string) {
	b.t.Helper()
	eval[bool](b, "document.querySelector(`"+sel+"`).value = ''; true")
	b.do(chromedp.SendKeys(sel, text))
}
