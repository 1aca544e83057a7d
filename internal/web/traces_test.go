package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/notebook"
)

// benchLog is a log of the worked example's core rail at a clamp: two states and
// the step between them.
func benchLog(rows int) string {
	rng := rand.New(rand.NewPCG(2, 7))
	var b strings.Builder
	b.WriteString("Logger 7, invented\nTime (s);core (V);core left clamp (mV);case (°C)\n")
	for i := range rows {
		level := 402.0
		if i > rows/2 {
			level = 455
		}
		fmt.Fprintf(&b, "%.2f;%.4f;%.2f;%.1f\n", float64(i)/100, 0.951+0.0005*rng.NormFloat64(), level+0.4*rng.NormFloat64(), 41.2+0.05*rng.NormFloat64())
	}
	return b.String()
}

// burstLog is what one instrument logged of a load in bursts, its clock behind by some seconds: the voltage of the
// core rail, or the clamp's volts.
func burstLog(rows int, head string, behind float64, value func(amps, noise float64) float64) string {
	rng := rand.New(rand.NewPCG(3, 7))
	load := make([]float64, 6000)
	x := 0.0
	for i := range load {
		x = 0.98*x + 0.2*rng.NormFloat64()
		load[i] = 40 + 4*x
	}
	var b strings.Builder
	b.WriteString("Time (s);" + head + "\n")
	for i := range rows {
		fmt.Fprintf(&b, "%.2f;%.5f\n", float64(i)/100, value(load[i+int(behind*100)], rng.NormFloat64()))
	}
	return b.String()
}

// keepBursts keeps a log of bursts and returns the trace's address.
func keepBursts(t testing.TB, s *Server, id int64, name, text, is string) string {
	t.Helper()
	page := sendLog(t, s, id, name, text).Header().Get("Location")
	contains(t, ask(t, s, "POST", page, url.Values{"do": {"keep"}, "is.1": {is}}), 303)
	return keptTrace(t, s, page)
}

// TestTwoTraces: the log of another instrument is brought to a trace's clock, looked at, kept, overridden, forgotten.
func TestTwoTraces(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	volts := keepBursts(t, s, id, "volts.csv", burstLog(4000, "core (V)", 0, func(a, e float64) float64 { return 1.1 - 0.002*a + 2e-4*e }), `{"channel":0,"is":"voltage","rail":"core"}`)
	contains(t, ask(t, s, "GET", volts, nil), 200, "!With another log")
	amps := keepBursts(t, s, id, "amps.csv", burstLog(3000, "core (A)", 6.5, func(a, e float64) float64 { return a + 0.05*e }), "")
	with := amps[strings.LastIndex(amps, "/")+1:]
	page := volts + "?channel=0&wfrom=7&wto=35&with=" + with + ".0&by="
	w := ask(t, s, "GET", page+"correlation", nil)
	contains(t, w, 200, "With another log", "amps.csv: its times plus 6.50", "trace-other", "mean of v·i", "Keep this shift")
	hidden := func(name string) string {
		_, rest, _ := strings.Cut(w.Body.String(), `name="`+name+`" value="`)
		v, _, _ := strings.Cut(rest, `"`)
		return v
	}
	contains(t, ask(t, s, "GET", page+"mark&here=8.5&there=2", nil), 200, "its times plus 6.50")
	contains(t, ask(t, s, "GET", page+"mark&here=8.5&there=200", nil), 200, "no sample at 200 s")
	contains(t, ask(t, s, "GET", page+"mark&here=8.5", nil), 200, "in seconds of either trace")
	contains(t, ask(t, s, "GET", page+"offset&offset=6.6+%C2%B1+0.2+s+(k%3D2)", nil), 200, "its times plus 6.60 ± 0.10 s")
	contains(t, ask(t, s, "GET", page+"offset&offset=6+V", nil), 200, "They were not brought together")
	contains(t, ask(t, s, "GET", page+"offset&offset=600+s", nil), 200, "no sample in that window")
	contains(t, ask(t, s, "GET", volts+"?with=77.0&by=kept", nil), 200, "no such channel")

	keep := url.Values{"other": {with}, "shift": {hidden("shift")}, "u": {hidden("u")}, "method": {hidden("method")}, "channel": {"0"}, "wfrom": {"7"}, "wto": {"35"}}
	contains(t, ask(t, s, "POST", volts+"/clock", url.Values{"other": {with}, "shift": {"x"}}), 400)
	contains(t, ask(t, s, "POST", volts+"/clock", keep), 303)
	contains(t, ask(t, s, "GET", page+"kept", nil), 200, "by cross-correlation", "its times plus 6.50")
	contains(t, ask(t, s, "GET", amps, nil), 200, "volts.csv</a>: its times plus −6.50", "core, volts.csv")
	keep.Set("shift", "7")
	keep.Set("method", "offset given")
	contains(t, ask(t, s, "POST", volts+"/clock", keep), 303)
	contains(t, ask(t, s, "GET", volts, nil), 200, "its times plus 7.00", "offset given")
	contains(t, ask(t, s, "POST", volts+"/clock", url.Values{"other": {with}, "do": {"forget"}}), 303)
	contains(t, ask(t, s, "GET", volts, nil), 200, "!its times plus")
}

// sendLog sends a log as the browser's form does, and returns the answer.
func sendLog(t testing.TB, s *Server, study int64, name, text string) *httptest.ResponseRecorder {
	t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	f, err := m.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	f.Write([]byte(text))
	m.Close()
	r := httptest.NewRequest("POST", at("studies", study, "logs"), &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Host, r.RemoteAddr = "127.0.0.1:7417", "127.0.0.1:50000"
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// keptTrace waits until a log that was sent is kept, and returns the trace's address.
func keptTrace(t testing.TB, s *Server, page string) string {
	t.Helper()
	for range 400 {
		if w := ask(t, s, "GET", page, nil); w.Code == 303 {
			return w.Header().Get("Location")
		} else if strings.Contains(w.Body.String(), "Not kept.") {
			t.Fatal(w.Body.String())
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("the log is not kept after four seconds")
	return ""
}

// TestTracePages: a log is sent, settled, kept; its window becomes readings. The
// same log is noticed; what is no log is refused.
func TestTracePages(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	list := at("studies", id, "traces")
	contains(t, ask(t, s, "GET", list, nil), 200, "None yet")
	contains(t, sendLog(t, s, id, "letter.txt", "Dear reader,"), 422, "That is no log that can be read")
	contains(t, sendLog(t, s, id, "empty.csv", ""), 422, "empty")

	w := sendLog(t, s, id, "run.csv", benchLog(3000))
	page := w.Header().Get("Location")
	contains(t, w, 303)
	contains(t, ask(t, s, "GET", page, nil), 200, "core left clamp", "voltage of core", "First line of data")
	contains(t, ask(t, s, "GET", list, nil), 200, "Not kept yet", "run.csv")
	// Another first line is looked at anew; a wrong unit is told.
	contains(t, ask(t, s, "POST", page, url.Values{"first": {"5"}, "do": {"look"}}), 303)
	contains(t, ask(t, s, "GET", page, nil), 200, `value="5"`)
	contains(t, ask(t, s, "POST", page, url.Values{"first": {"3"}, "do": {"look"}}), 303)
	bad := url.Values{"role.1": {"value"}, "name.1": {"core"}, "unit.1": {"furlongs"}, "do": {"keep"}}
	contains(t, ask(t, s, "POST", page, bad), 422, "furlongs", "is not known")
	form := url.Values{"do": {"keep"}, "title": {"warm run"}, "is.1": {`{"channel":0,"is":"voltage","rail":"core"}`}, "is.2": {`{"channel":0,"is":"voltage","rail":"core"}`}}
	contains(t, ask(t, s, "POST", page, form), 422, "is the voltage of core already")
	form.Del("is.2")
	contains(t, ask(t, s, "POST", page, form), 303)
	trace := keptTrace(t, s, page)
	contains(t, ask(t, s, "GET", trace, nil), 200, "warm run", "steady", "trace-svg", "voltage of core")

	// What a script draws from.
	var view traceData
	v := ask(t, s, "GET", trace+"/view?channel=1&from=0&to=30&width=300&factor=1000", nil)
	if err := json.Unmarshal(v.Body.Bytes(), &view); err != nil || len(view.T) < 250 || len(view.T) > 300 || *view.Mean[0] < 390 || *view.Mean[0] > 410 {
		t.Errorf("%d %v %v", v.Code, err, v.Body.String()[:min(200, v.Body.Len())])
	}
	contains(t, ask(t, s, "GET", trace+"/view?channel=1&from=x", nil), 400)
	contains(t, askPart(t, s, "GET", trace+"/window?channel=1&wfrom=1&wto=10", nil), 200, "core left clamp", "Allan")
	contains(t, askPart(t, s, "GET", trace+"/window?channel=1&wfrom=10&wto=10", nil), 200, "the end must be later")
	contains(t, ask(t, s, "GET", trace+"/samples.csv", nil), 200, "time (s),core (V)")
	contains(t, ask(t, s, "GET", trace+"/samples.parquet", nil), 200, "PAR1")

	// Into a sitting.
	o, err := s.studyOf(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	rec := o.Record
	last := rec.SittingOf[rec.Study.Sittings[len(rec.Study.Sittings)-1]]
	before := len(rec.Entries)
	take := url.Values{"wfrom": {"1"}, "wto": {"10"}, "state": {rec.Study.States[0].Name}, "sitting": {itoa(last)}, "key": {"once"}}
	contains(t, ask(t, s, "POST", trace+"/take", take), 303)
	contains(t, ask(t, s, "POST", trace+"/take", take), 303) // sent twice, kept once
	again, err := nb.Record(t.Context(), id)
	if err != nil || len(again.Entries) != before+2 {
		t.Fatalf("%d entries more, %v", len(again.Entries)-before, err)
	}
	if e := again.Entries[len(again.Entries)-1]; e.Kind != notebook.Voltage || !strings.Contains(e.From, "warm run, core, 1 s to 10 s") || !strings.Contains(e.Text, "dof)") {
		t.Errorf("%+v", e.Content)
	}
	take.Set("state", "none such")
	contains(t, ask(t, s, "POST", trace+"/take", take), 400)

	w = sendLog(t, s, id, "copy.csv", benchLog(3000))
	page = w.Header().Get("Location")
	contains(t, ask(t, s, "GET", page, nil), 200, "as the last log of this kind")
	contains(t, ask(t, s, "POST", page, url.Values{"do": {"keep"}}), 303)
	for range 400 {
		if w = ask(t, s, "GET", page, nil); strings.Contains(w.Body.String(), "Not kept.") {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	contains(t, w, 200, "in the notebook already", "Keep it once more")
	contains(t, ask(t, s, "POST", page, url.Values{"do": {"discard"}}), 303)
	contains(t, ask(t, s, "GET", page, nil), 404)

	contains(t, ask(t, s, "POST", trace+"/channels", url.Values{"name": {"warmer run"}, "is.1": {`{"channel":0,"is":"current","rail":"nowhere"}`}}), 422, "has a rail")
	contains(t, ask(t, s, "POST", trace+"/channels", url.Values{"name": {"warmer run"}}), 303)
	contains(t, ask(t, s, "GET", trace, nil), 200, "warmer run", "Nothing can be taken yet")
	contains(t, ask(t, s, "POST", trace+"/drop", url.Values{}), 303)
	contains(t, ask(t, s, "GET", list, nil), 200, "None yet")
}
