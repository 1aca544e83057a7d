package web

import (
	"math"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// mouse presses at one place, moves to another and lets go.
func (b *browser) mouse(x, y, toX, toY float64) {
	b.t.Helper()
	for _, e := range []input.DispatchMouseEventParams{
		{Type: input.DispatchMouseEventTypeMousePressed, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1},
		{Type: input.DispatchMouseEventTypeMouseMoved, X: (x + toX) / 2, Y: toY, Button: input.MouseButtonLeft},
		{Type: input.DispatchMouseEventTypeMouseMoved, X: toX, Y: toY, Button: input.MouseButtonLeft},
		{Type: input.DispatchMouseEventTypeMouseReleased, X: toX, Y: toY, Button: input.MouseButtonLeft, ClickCount: 1},
	} {
		if _, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, e); err != nil {
			b.t.Fatal(err)
		}
	}
}

// A log's page and a trace's: settled, looked at, its window moved by mouse,
// finger and keyboard; readable without a script.
func TestTraceInABrowser(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	settle := sendLog(t, s, id, "run.csv", benchLog(3000)).Header().Get("Location")
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.look(360, "light")
	b.open(settle)
	b.fits()
	b.accessible()
	b.picture("log-360-light")
	contains(t, ask(t, s, "POST", settle, url.Values{"do": {"keep"}, "title": {"warm run"}, "is.1": {`{"channel":0,"is":"voltage","rail":"core"}`}}), 303)
	trace := keptTrace(t, s, settle)
	b.look(1440, "light")
	b.open(trace + "?channel=1&wfrom=2&wto=12")
	shown := `(document.getElementById("trace-stage").dataset.shown || "")`
	b.until(shown + ` === "0 29.99" && document.querySelectorAll(".win-edge").length === 2`)

	// By the keyboard: the end goes on by 0.5 % of what is shown.
	b.do(chromedp.Focus(".win-edge:last-of-type"))
	b.keys(kb.ArrowRight)
	value := func(id string) float64 { return eval[float64](b, `+document.getElementById("`+id+`").value`) }
	if got := value("wto"); math.Abs(got-(12+0.005*29.99)) > 1e-3 {
		t.Errorf("the end is at %g s after an arrow key", got)
	}
	b.until(`document.querySelector("#window-part .take button").textContent.includes("12.14995")`)
	// By the mouse and by a finger: an edge follows.
	box := eval[[]float64](b, `(() => { const r = document.querySelector(".u-over").getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	place := func(t float64) float64 { return box[0] + t/29.99*box[2] }
	y := box[1] + box[3]/3
	b.mouse(place(2), y, place(5), y)
	if got := value("wfrom"); math.Abs(got-5) > 0.1 {
		t.Errorf("the beginning was dragged to %g s", got)
	}
	b.touch(input.DispatchTouchEventTypeTouchStart, place(5), y)
	b.touch(input.DispatchTouchEventTypeTouchMove, place(4), y)
	b.touch(input.DispatchTouchEventTypeTouchMove, place(3), y)
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	if got := value("wfrom"); math.Abs(got-3) > 0.1 {
		t.Errorf("the beginning was dragged to %g s by a finger", got)
	}
	// Zoom by the keyboard, pan by the mouse.
	b.do(chromedp.Focus(".u-over"))
	b.keys("+")
	b.until(shown + ` === "7.4975 22.4925"`)
	b.mouse(box[0]+box[2]*0.8, y, box[0]+box[2]*0.6, y)
	b.until(`+` + shown + `.split(" ")[0] > 10`)
	b.fits()
	b.accessible()
	for _, look := range []struct {
		width int64
		theme string
		name  string
	}{{360, "light", "360-light"}, {820, "dark", "820-dark"}, {1440, "light", "1440-light"}} {
		if *shots != "" {
			b.leave()
			b.look(look.width, look.theme)
			b.open(trace + "?channel=1")
			b.until(shown + ` !== ""`)
			b.fits()
			b.legible()
			b.picture("trace-" + look.name)
		}
	}
	// With the log of another instrument.
	volts := keepBursts(t, s, id, "volts.csv", burstLog(4000, "core (V)", 0, func(a, e float64) float64 { return 1.1 - 0.002*a + 2e-4*e }), "")
	amps := keepBursts(t, s, id, "amps.csv", burstLog(3000, "core (A)", 6.5, func(a, e float64) float64 { return a + 0.05*e }), "")
	joint := volts + "?wfrom=7&wto=35&by=correlation&with=" + amps[strings.LastIndex(amps, "/")+1:] + ".0"
	b.leave()
	b.look(360, "dark")
	b.open(joint)
	b.fits()
	b.accessible()
	if *shots != "" {
		b.screens([]screen{{"traces", at("studies", id, "traces")}, {"trace-joint", joint}})
	}
	b.leave()
	b.withoutScript()
	b.look(360, "light")
	b.open(trace + "?channel=1")
	b.fits()
	b.picture("trace-no-script-360-light")
	for _, x := range said() {
		if x != "" && !strings.Contains(x, "scripting is disabled") {
			t.Errorf("the browser says: %s", x)
		}
	}
}
