package web

import (
	"bufio"
	"encoding/json"
	"html"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"railtally/internal/acquire"
	"railtally/internal/notebook"
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
	// What was taken is kept with its readings, and opens to them; once, though it is sent twice.
	study := at("studies", d.id)
	hidden := func(name string) string {
		_, rest, _ := strings.Cut(w.Body.String(), `name="`+name+`" `)
		_, rest, _ = strings.Cut(rest, `value="`)
		v, _, _ := strings.Cut(rest, `"`)
		return v
	}
	contains(t, ask(t, d.s, "GET", study+"/traces", nil), 200, "None yet")
	entry := url.Values{"at": {slot}, "key": {"k1"}, "visit": {visitKey(d.sitting, "bare", 1)}, "kind": {"voltage"}, "rail": {"core"}, "text": {hidden("text")}, "take": {hidden("take")}}
	contains(t, ask(t, d.s, "POST", d.base+"/entries", entry), 303)
	contains(t, ask(t, d.s, "POST", d.base+"/entries", entry), 303)
	list := ask(t, d.s, "GET", study+"/traces", nil)
	contains(t, list, 200, "take 20", ", core voltage, bare")
	if n := strings.Count(list.Body.String(), `class="row-name"`); n != 1 {
		t.Errorf("%d traces are kept of one take", n)
	}
	page := ask(t, d.s, "GET", d.base, nil)
	contains(t, page, 200, "its samples")
	_, link, _ := strings.Cut(page.Body.String(), `<a href="`+study+"/traces/")
	link, _, _ = strings.Cut(link, `"`)
	contains(t, ask(t, d.s, "GET", study+"/traces/"+html.UnescapeString(link), nil), 200, "The readings behind one taken mean", "desk meter")
	contains(t, ask(t, d.s, "GET", study+"/results/Otter/bare/core", nil), 200, "What they were taken from", "samples worth")
	// Typed over, it is no longer what was taken.
	entry.Set("key", "k2")
	entry.Set("rail", "io")
	entry.Set("text", "1.8 V")
	entry.Set("unit", "V")
	contains(t, askJSON(t, d.s, d.base+"/entries", entry), 200)
	if n := strings.Count(ask(t, d.s, "GET", study+"/traces", nil).Body.String(), `class="row-name"`); n != 1 {
		t.Errorf("%d traces after a reading that was typed", n)
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

// Record keeps what the bench's meters read until it is stopped, whoever looks on; a lost meter is told, and readings are
// entered meanwhile.
func TestRecordButton(t *testing.T) {
	d, b := liveDesk(t, simbench.Virtual())
	study := at("studies", d.id)
	part := func() string { return askPart(t, d.s, "GET", d.base+"/recording", nil).Body.String() }
	until := func(what string) {
		t.Helper()
		for range 500 {
			if strings.Contains(part(), what) {
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
		t.Fatalf("never said %q: %s", what, part())
	}
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, "Record desk meter, case probe")
	contains(t, askPart(t, d.s, "POST", d.base+"/record", url.Values{"do": {"start"}}), 200, "Stop recording")
	contains(t, ask(t, d.s, "POST", d.base+"/record", url.Values{"do": {"start"}}), 303) // pressed twice
	contains(t, ask(t, d.s, "GET", d.base, nil), 200, "Recording", "Stop recording")     // loaded again
	contains(t, ask(t, d.s, "GET", study+"/traces", nil), 200, "being recorded", "bench, 20")
	if err := b.Ail("desk meter", simbench.Garbage, 0); err != nil {
		t.Fatal(err)
	}
	until("record-trouble")
	entry := url.Values{"key": {"k1"}, "visit": {visitKey(d.sitting, "bare", 1)}, "kind": {"voltage"}, "rail": {"core"}, "text": {"0.958 V"}, "unit": {"V"}}
	contains(t, askJSON(t, d.s, d.base+"/entries", entry), 200, `"ok":true`)
	if err := b.Ail("desk meter", simbench.Disconnect, 1); err != nil {
		t.Fatal(err)
	}
	until(", link lost and found")
	contains(t, askPart(t, d.s, "POST", d.base+"/record", url.Values{"do": {"stop"}}), 200, "readings kept", "Record desk meter")
	all, err := d.s.nb.Traces(t.Context(), d.id)
	if err != nil || len(all) != 1 || all[0].Outcome != notebook.Complete || all[0].Samples[0] == 0 || all[0].Samples[1] == 0 {
		t.Fatalf("%+v %v", all, err)
	}
	// Another is begun and ends with the server.
	contains(t, ask(t, d.s, "POST", d.base+"/record", url.Values{"do": {"start"}}), 303)
	d.s.EndRecordings()
	if all, err = d.s.nb.Traces(t.Context(), d.id); err != nil || len(all) != 2 || all[1].Outcome != notebook.Complete {
		t.Errorf("%+v %v", all, err)
	}
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
