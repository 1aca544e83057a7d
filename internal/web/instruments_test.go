package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"railtally/internal/study"
	"railtally/internal/studyfile"
	"railtally/internal/studyfile/studygen"
)

func instrumentText1(t interface{ Fatal(...any) }, in *study.Instrument) string {
	var b bytes.Buffer
	if err := studyfile.Write(&b, &study.Study{Question: "x", Level: study.DefaultLevel, Instruments: []*study.Instrument{in}}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// An instrument that is opened in the form and kept unchanged is the same.
func TestInstrumentFormLosesNothing(t *testing.T) {
	for seed := range 60 {
		for _, in := range studygen.Studies().Example(seed).Instruments {
			if len(in.Ranges) > maxRanges {
				continue
			}
			trimNotes(in)
			values, err := instrumentValues(in)
			if err != nil {
				t.Fatal(err)
			}
			f := newForm(values)
			got, general := readInstrumentForm(f)
			if got == nil {
				t.Fatalf("%s: %s %v\n%v\n%s", in.Name, general, f.faults, values, instrumentText1(t, in))
			}
			if a, b := instrumentText1(t, in), instrumentText1(t, got); a != b {
				t.Fatalf("was\n%s\nis\n%s", a, b)
			}
		}
	}
}

// trimNotes takes spaces off the ends of free texts, as the form does.
func trimNotes(in *study.Instrument) {
	in.Ident, in.Note = strings.TrimSpace(in.Ident), strings.TrimSpace(in.Note)
	for _, c := range append([]*study.Range{{Calibration: in.Calibration}}, in.Ranges...) {
		if c.Calibration != nil {
			c.Calibration.By = strings.TrimSpace(c.Calibration.By)
		}
	}
}

func clampForm() url.Values {
	return url.Values{
		"name": {"red clamp"}, "kind": {"clamp"}, "r0.name": {"low"}, "r0.to": {"20 A"}, "r0.scale": {"1 mV per 10 mA"},
		"r0.spec": {"±(1.5 % + 10 mA)"}, "calibrated.on": {"2026-01-20"}, "calibrated.due": {"2027-01-20"},
		"calibrated.correction-factor": {"1.004 ± 0.004 (k=2)"},
	}
}

// Each fault stands at its field, with what would be accepted, and everything
// typed is kept.
func TestInstrumentFaults(t *testing.T) {
	s := newServer(t, newNotebook(t))
	for _, x := range []struct{ field, value, want string }{
		{"name", " ", "this is needed"},
		{"kind", "", "this is needed"},
		{"kind", "oscilloscope", "Accepted"},
		{"r0.to", "20 bananas", "Accepted"},
		{"r0.to", "-5 A", "Accepted"},
		{"r0.scale", "ten", "Accepted"},
		{"r0.scale", "", "missing"},
		{"r0.spec", "±(1.5 %", "Accepted"},
		{"r0.spec", "±10 °C", "Accepted"},
		{"r0.position", "±200 %", "Accepted"},
		{"r0.zero-drift", "5 mA", "Accepted"},
		{"calibrated.on", "20 January", "year-month-day"},
		{"calibrated.on", "", "missing"},
		{"calibrated.due", "2025-01-20", "Accepted"},
		{"calibrated.correction-factor", "40", "Accepted"},
		{"calibrated.drift", "-1 %", "Accepted"},
		{"r0.calibrated.on", "yesterday", "year-month-day"},
		{"resistance", "100 mΩ ±1 %", "no place here"},
	} {
		t.Run(x.field+"="+x.value, func(t *testing.T) {
			form := clampForm()
			form.Set(x.field, x.value)
			w := ask(t, s, "POST", "/instruments", form)
			contains(t, w, http.StatusUnprocessableEntity, x.want)
			id := field{Name: x.field}.ID()
			_, rest, ok := strings.Cut(w.Body.String(), `id="`+id+`-said"`)
			said, _, _ := strings.Cut(rest, "</p>")
			if !ok || !strings.Contains(said, x.want) {
				t.Errorf("beside %s stands %q, want %q", x.field, said, x.want)
			}
			for name, v := range form {
				if name != "kind" && v[0] != " " && v[0] != "" && !strings.Contains(w.Body.String(), `value="`+strings.NewReplacer("+", "&#43;").Replace(v[0])+`"`) {
					t.Errorf("%s lost %q", name, v[0])
				}
			}
		})
	}
}

func TestInstrumentKeptAndChanged(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	if w := ask(t, s, "POST", "/instruments", clampForm()); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	contains(t, ask(t, s, "GET", "/instruments", nil), 200, "red clamp", "±(1.5", "20", "due 20 January 2027")
	contains(t, ask(t, s, "GET", "/instruments/1", nil), 200, `value="20 A"`, `name="row" value="1"`)
	// The same name twice.
	contains(t, ask(t, s, "POST", "/instruments", clampForm()), http.StatusUnprocessableEntity, "has this name already")

	form := clampForm()
	form.Set("row", "1")
	form.Set("r0.to", "25 A")
	form.Set("why", "manual read again")
	if w := ask(t, s, "POST", "/instruments/1", form); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	shelf, err := nb.Shelf(t.Context())
	if err != nil || len(shelf) != 1 || shelf[0].Instrument.Ranges[0].To.Value() != 25 || shelf[0].Why != "manual read again" {
		t.Fatalf("on the shelf: %+v, error %v", shelf, err)
	}
	// From a page that is older than that: what was typed is kept, nothing lost.
	form.Set("r0.to", "30 A")
	w := ask(t, s, "POST", "/instruments/1", form)
	contains(t, w, http.StatusConflict, "changed on another device", `value="30 A"`, `name="row" value="2"`)
	form.Set("row", "2")
	if w := ask(t, s, "POST", "/instruments/1", form); w.Code != http.StatusSeeOther {
		t.Errorf("saved again: status %d", w.Code)
	}
	if w := ask(t, s, "POST", "/instruments/1/withdraw", url.Values{}); w.Code != http.StatusSeeOther {
		t.Errorf("withdraw: status %d", w.Code)
	}
	contains(t, ask(t, s, "GET", "/instruments", nil), 200, "The shelf is empty")
}

func TestInstrumentMoreRanges(t *testing.T) {
	s := newServer(t, newNotebook(t))
	form := clampForm()
	form.Set("more", "yes")
	form.Set("r0.spec", "as yet unread")
	w := ask(t, s, "POST", "/instruments", form)
	contains(t, w, 200, `name="r1.name"`, `value="as yet unread"`, "Range 2", "!Range 3")
	form.Del("more")
	form.Set("r0.spec", "")
	form.Set("r1.to", "200 A")
	form.Set("r1.scale", "1 mV per 100 mA")
	contains(t, ask(t, s, "POST", "/instruments", form), http.StatusUnprocessableEntity, "several ranges need a name each")
	form.Set("r1.name", "low")
	contains(t, ask(t, s, "POST", "/instruments", form), http.StatusUnprocessableEntity, "another range has this name")
	form.Set("r1.name", "high")
	if w := ask(t, s, "POST", "/instruments", form); w.Code != http.StatusSeeOther {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

func TestCheckField(t *testing.T) {
	s := newServer(t, newNotebook(t))
	form := clampForm()
	form.Set("r0.spec", "1.5% + 10mA")
	contains(t, ask(t, s, "POST", "/instruments/check?field=r0.spec", form), 200, "Read as ±(1.5 % ", "!fault")
	form.Set("r0.spec", "1.5 bananas")
	contains(t, ask(t, s, "POST", "/instruments/check?field=r0.spec", form), 200, "said-of fault", "Accepted")
	form.Set("r0.spec", "")
	contains(t, ask(t, s, "POST", "/instruments/check?field=r0.spec", form), 200, "!fault")
	contains(t, ask(t, s, "POST", "/instruments/check?field=nonesuch", form), 400)
}

// A form with a hundred thousand ranges costs no more than one with forty.
func TestRangesAreBounded(t *testing.T) {
	v := url.Values{}
	for i := range 200 {
		v.Set(fmt.Sprintf("r%d.to", i*500), "1 V")
	}
	if n := rangesIn(newForm(v)); n > maxRanges {
		t.Errorf("%d ranges", n)
	}
}

func TestDues(t *testing.T) {
	nb := newNotebook(t)
	now := time.Date(2026, 3, 14, 23, 30, 0, 0, time.UTC)
	fillShelf(t, nb, now)
	s, err := New(Config{Notebook: nb, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, s, "GET", "/instruments", nil), 200,
		"One calibration is", `due over">calibration overdue since 22 February 2026`, `due soon">calibration due 28 March 2026`, `due ">calibration due 8 January 2027`)
	// On its day a calibration is not overdue yet.
	in := &study.Instrument{Calibration: &study.Calibration{Due: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)}}
	if d := dues(in, now); len(d) != 1 || d[0].Kind != "soon" {
		t.Errorf("on the day: %+v", d)
	}
}

func TestTakeFromStudy(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	form := url.Values{"study": {fmt.Sprint(id)}, "name": {"red clamp"}}
	if w := ask(t, s, "POST", "/instruments/take", form); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	shelf, err := nb.Shelf(t.Context())
	if err != nil || len(shelf) != 1 || shelf[0].Name != "red clamp" {
		t.Errorf("on the shelf: %+v, error %v", shelf, err)
	}
	form.Set("name", "nonesuch")
	if w := ask(t, s, "POST", "/instruments/take", form); w.Code != http.StatusNotFound {
		t.Errorf("an unknown one: status %d", w.Code)
	}
}
