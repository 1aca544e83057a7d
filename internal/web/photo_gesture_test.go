package web

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// touch sends fingers to the page: where each is, x and y in turn; none: all are
// lifted.
func (b *browser) touch(kind input.DispatchTouchEventType, at ...float64) {
	b.t.Helper()
	p := input.DispatchTouchEventParams{Type: kind, TouchPoints: []*input.TouchPoint{}}
	for i := 0; i+1 < len(at); i += 2 {
		id := float64(i / 2)
		p.TouchPoints = append(p.TouchPoints, &input.TouchPoint{X: at[i], Y: at[i+1], ID: &id})
	}
	if _, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, p); err != nil {
		b.t.Fatal(err)
	}
}

// viewBox is what of the photograph is seen: left, top, width and height.
func (b *browser) viewBox() (out [4]float64) {
	b.t.Helper()
	for i, x := range strings.Fields(eval[string](b, `document.querySelector("[data-stage]").getAttribute("viewBox")`)) {
		out[i], _ = strconv.ParseFloat(x, 64)
	}
	return out
}

// gestures tries the wheel and the fingers on a photograph 1200 wide with one
// pin: zoom, pinch, move the picture, move the pin; no gesture puts a pin.
func (b *browser) gestures(t *testing.T) {
	t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	eval[bool](b, `document.querySelector("[data-stage]").scrollIntoView({block: "center"}); true`)
	at := eval[[]float64](b, `(() => { const r = document.querySelector("[data-stage]").getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	x, y := at[0]+at[2]/2, at[1]+at[3]/2
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}

	_, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseWheel, X: x, Y: y, DeltaX: 0.01, DeltaY: -100})
	if err != nil {
		t.Fatal(err)
	}
	b.until(`document.querySelector("[data-stage]").viewBox.baseVal.width < 1199`)
	v := b.viewBox()
	near("width after the wheel", v[2], 1000, 1)
	near("left after the wheel", v[0], 100, 2) // round the middle

	// Two fingers from 60 to 120 apart show half of it; the middle stays.
	b.touch(input.DispatchTouchEventTypeTouchStart, x-30, y)
	b.touch(input.DispatchTouchEventTypeTouchStart, x-30, y, x+30, y)
	b.touch(input.DispatchTouchEventTypeTouchMove, x-45, y, x+45, y)
	b.touch(input.DispatchTouchEventTypeTouchMove, x-60, y, x+60, y)
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	b.until(`document.querySelector("[data-stage]").viewBox.baseVal.width < 990`)
	v = b.viewBox()
	near("width after two fingers", v[2], 500, 5)
	near("middle after two fingers", v[0]+v[2]/2, 600, 30)

	// One finger moves the picture along.
	b.touch(input.DispatchTouchEventTypeTouchStart, x, y)
	b.touch(input.DispatchTouchEventTypeTouchMove, x+20, y)
	b.touch(input.DispatchTouchEventTypeTouchMove, x+40, y)
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	near("left after one finger", b.viewBox()[0], v[0]-40*v[2]/at[2], 2)

	// A finger on the pin takes it along, and leaves it on the disk.
	b.click("[data-zoom='0']")
	near("the whole picture", b.viewBox()[2], 1200, 0)
	eval[bool](b, `document.querySelector("[data-stage]").scrollIntoView({block: "center"}); document.querySelector("[data-kept]").textContent = ""; true`)
	pin := eval[[]float64](b, `(() => { const r = document.querySelector(".pin .dot").getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2, Number(document.querySelector(".pin").dataset.x)]; })()`)
	b.touch(input.DispatchTouchEventTypeTouchStart, pin[0], pin[1])
	b.touch(input.DispatchTouchEventTypeTouchMove, pin[0]-10, pin[1])
	b.touch(input.DispatchTouchEventTypeTouchMove, pin[0]-33, pin[1])
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	b.until(`document.querySelector("[data-kept]").textContent.includes("kept")`)
	near("the pin", eval[float64](b, `Number(document.querySelector(".pin").dataset.x)`), pin[2]-33/at[2], 0.005)
	if n := eval[int](b, "document.querySelectorAll('.pin').length"); n != 1 {
		t.Errorf("%d pins, want the one that was put", n)
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{}); err != nil {
		t.Fatal(err)
	}
}
