package web

import (
	"bufio"
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"railtally/internal/acquire"
	"railtally/internal/quantity"
	"railtally/internal/simbench"
)

// liveDesk is a desk whose meter stands on a simulated bench.
func liveDesk(t testing.TB, clock simbench.Clock) (deskSetup, *simbench.Bench) {
	t.Helper()
	b, err := simbench.New(simbench.Config{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	places, stop, err := b.Serve(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	d := newDesk(t)
	d.s.leastTake = 50 * time.Millisecond
	if err := d.s.live.change(func(x *acquire.Settings) error {
		if err := x.Put(acquire.Meter{Name: "case probe", Address: places[1].Address, Unit: "°C", Pause: 0.002}); err != nil {
			return err
		}
		return x.Put(acquire.Meter{Name: "desk meter", Address: places[0].Address, Pause: 0.002, Prepare: `BENC:STAT "{state}",480;LEAD "{what}","{of}"`})
	}); err != nil {
		t.Fatal(err)
	}
	return d, b
}

// A reading taken without scripts: the page comes back with the field filled, what
// it means, and nothing kept before somebody keeps it.
func TestTakeWithoutScript(t *testing.T) {
	d, _ := liveDesk(t, simbench.Virtual())
	slot := visitKey(d.sitting, "bare", 1) + "/voltage/core"
	contains(t, ask(t, d.s, "GET", d.base+"?at="+url.QueryEscape(slot), nil), 200, "Take a reading", `data-live-meter="desk meter"`)
	w := ask(t, d.s, "POST", d.base+"/take", url.Values{"at": {slot}})
	contains(t, w, 200, `value="95`, "From ", "independent ones")
	if n := len(currentEntries(t, d, "voltage")); n != 0 {
		t.Errorf("%d voltages were kept before anybody kept them", n)
	}
	got := said1[took](t, askJSON(t, d.s, d.base+"/take", url.Values{"at": {slot}, "takefor": {"0.1"}}))
	e, err := quantity.Parse(got.Text, quantity.Volt, "")
	// The rail's true voltage in that state is 0.9585 V; ±0.1 % and a digit.
	if err != nil || !got.OK || e.Value() < 0.956 || e.Value() > 0.961 {
		t.Errorf("%+v, %v", got, err)
	}
	contains(t, ask(t, d.s, "POST", d.base+"/take", url.Values{"at": {visitKey(d.sitting, "bare", 1) + "/throughput"}}), 422, "No live meter")
	contains(t, ask(t, d.s, "POST", d.base+"/take", url.Values{"at": {"nowhere"}}), 400)
}

// A meter that fails is told beside the field, and the page goes on.
func TestTakeFromALostMeter(t *testing.T) {
	d, b := liveDesk(t, simbench.Virtual())
	if err := b.Ail("desk meter", simbench.Gone, 0); err != nil {
		t.Fatal(err)
	}
	if err := d.s.live.change(func(x *acquire.Settings) error {
		m := *x.Meter("desk meter")
		m.Timeout = 0.1
		return x.Put(m)
	}); err != nil {
		t.Fatal(err)
	}
	slot := visitKey(d.sitting, "bare", 1) + "/voltage/core"
	w := askJSON(t, d.s, d.base+"/take", url.Values{"at": {slot}})
	if got := said1[took](t, w); w.Code != http.StatusBadGateway || got.OK || !strings.Contains(got.Error, "no link") {
		t.Errorf("%d %+v", w.Code, got)
	}
	contains(t, ask(t, d.s, "GET", d.base+"?at="+url.QueryEscape(slot), nil), 200, "Take a reading")
}

func TestMetersPage(t *testing.T) {
	d, _ := liveDesk(t, simbench.Virtual())
	contains(t, ask(t, d.s, "GET", "/meters", nil), 200, "desk meter", "BENC:STAT", "Look for meters")
	bad := url.Values{"name": {"new one"}, "address": {"serial:"}, "timeout": {"soon"}}
	contains(t, ask(t, d.s, "POST", "/meters", bad), 422, "new one", "it leads nowhere", "no number of seconds")
	bad = url.Values{"name": {"new one"}, "address": {"192.0.2.7"}, "setup": {"OUTP ON"}}
	contains(t, ask(t, d.s, "POST", "/meters", bad), 422, "may put out voltage")
	good := url.Values{"name": {"new one"}, "address": {"8.8.8.8:5555"}, "setup": {"CONF:VOLT:DC\r\n\r\nVOLT:NPLC 10"}, "timeout": {"2,5"}, "unit": {"A"}}
	contains(t, ask(t, d.s, "POST", "/meters", good), 303)
	contains(t, ask(t, d.s, "GET", "/meters", nil), 200, "new one", "VOLT:NPLC 10", "not an address of a private network")
	contains(t, ask(t, d.s, "GET", "/meters?meter=new+one", nil), 200, `value="2.5"`, "VOLT:NPLC 10")
	kept, err := acquire.LoadSettings(d.s.live.path)
	if m := kept.Meter("new one"); err != nil || m == nil || len(m.Setup) != 2 || m.Timeout != 2.5 || m.Unit != "A" {
		t.Errorf("%+v, %v", kept, err)
	}
	contains(t, ask(t, d.s, "POST", "/meters/remove", url.Values{"name": {"new one"}}), 303)
	contains(t, ask(t, d.s, "POST", "/meters/try", url.Values{"name": {"case probe"}}), 303)
	contains(t, ask(t, d.s, "POST", "/meters/find", url.Values{"hosts": {"10.0.0.0/8"}}), 422, "at most 1024")
	if err := os.WriteFile(d.s.live.path, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, d.s, "GET", "/meters", nil), 422, "The meters cannot be read")
	contains(t, ask(t, d.s, "GET", d.base, nil), 200)
}

// The stream sends digits that follow the meter, and goes on when it is lost.
func TestLiveStream(t *testing.T) {
	d, b := liveDesk(t, simbench.Virtual())
	base := listening(t, d.s)
	a, err := http.Get(base + "/meters/live?meter=desk+meter&meter=case+probe")
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	lines := bufio.NewScanner(a.Body)
	next := func(is func(digits) bool) digits {
		for lines.Scan() {
			text, ok := strings.CutPrefix(lines.Text(), "data: ")
			if !ok {
				continue
			}
			var list []digits
			if err := json.Unmarshal([]byte(text), &list); err != nil {
				t.Fatal(err)
			}
			for _, x := range list {
				if is(x) {
					return x
				}
			}
		}
		t.Fatal("the stream ended")
		return digits{}
	}
	if x := next(func(x digits) bool { return x.Meter == "case probe" && x.Mark == "steady" }); x.Unit != "°C" || x.Mean == "" || x.Rate == "" {
		t.Errorf("%+v", x)
	}
	if err := b.Ail("desk meter", simbench.Garbage, 0); err != nil {
		t.Fatal(err)
	}
	next(func(x digits) bool { return x.Meter == "desk meter" && strings.Contains(x.Trouble, "nonsense") })
	if err := b.Ail("desk meter", simbench.None, 0); err != nil {
		t.Fatal(err)
	}
	next(func(x digits) bool { return x.Meter == "desk meter" && x.Trouble == "" && x.Number != "" })
	for _, path := range []string{"/meters/live", "/meters/live?meter=nix"} {
		if w := ask(t, d.s, "GET", path, nil); w.Code < 400 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// At the desk in a real browser: digits appear, a reading is taken and kept, by
// keyboard alone; and the page of meters looks finished.
func TestLiveDesk(t *testing.T) {
	d, _ := liveDesk(t, simbench.Paced(2000))
	b := newBrowser(t, listening(t, d.s))
	said := b.complaints()
	b.look(1440, "light")
	slot := visitKey(d.sitting, "bare", 1) + "/voltage/core"
	b.open(d.base + "?at=" + url.QueryEscape(slot))
	b.until(`document.querySelector("[data-live=number]").textContent !== ""`)
	b.do(chromedp.Focus("#entry"), chromedp.KeyEvent(kb.Enter, chromedp.KeyModifiers(2)))
	b.until(`document.querySelector("#entry").value.includes("95")`)
	b.until(`document.querySelector("[data-kept]").textContent.includes("independent")`)
	b.until(`!!document.querySelector(".echo-line")`)
	b.accessible()
	b.picture("live-desk-1440-light")
	b.look(360, "dark")
	b.fits()
	b.legible()
	b.picture("live-desk-360-dark")
	b.do(chromedp.Focus("#entry"), chromedp.KeyEvent(kb.Enter))
	b.until(`document.querySelector("[data-kept]").textContent.includes("Kept: core")`)
	if n := len(currentEntries(t, d, "voltage")); n != 1 {
		t.Errorf("%d voltages are kept", n)
	}
	b.screens([]screen{{"meters", "/meters"}})
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
}
