package web

import (
	"fmt"
	"html"
	"os"
	"regexp"
	"strings"
	"testing"

	"railtally/internal/notebook"
	"railtally/internal/studyfile"
)

// importHeron puts the study of docs/cooling.md, with a series that settles, into
// a notebook.
func importHeron(t testing.TB, nb *notebook.Notebook) int64 {
	t.Helper()
	text, err := os.ReadFile("../../docs/examples/cooling.yaml")
	if err != nil {
		t.Fatal(err)
	}
	x, _, err := studyfile.Read("heron", text)
	if err != nil {
		t.Fatal(err)
	}
	p, err := nb.Import(t.Context(), x, notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	return p.StudyID
}

// The page answers, for what stands in its address, and refuses beside the field.
func TestCoolingPage(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id, heron := importExample(t, nb), importHeron(t, nb)
	path := at("studies", id, "cooling")
	for query, want := range map[string][]string{
		"":                                    {"not enough without a fan", "94.1\u00a0±\u00a02.0\u00a0°C", "limit broken", "Way of the heat", "the board alone", "From about 65", "!This cannot be computed"},
		"?board=Otter":                        {"88.8\u00a0±\u00a01.8\u00a0°C", "limit kept", `aria-current="page">Otter`},
		"?board=Otter&power=9":                {"lies outside", "limit broken", `value="9"`},
		"?board=Otter&room=300":               {"-40 to 85", `aria-invalid="true"`, "88.8\u00a0±\u00a01.8\u00a0°C"},
		"?board=Otter&room=warm":              {`aria-invalid="true"`, "88.8\u00a0±\u00a01.8\u00a0°C"},
		"?board=Otter&power=-3":               {"a power above zero"},
		"?board=Otter&limit=80":               {"limit broken"},
		"?board=Otter&limit=900":              {"0 to 250", "limit kept"},
		"?board=Otter&altitude=90000":         {"-430 to 5000"},
		"?board=Otter&fins=8":                 {"Tried", "As it is: 88.8", "would reach"},
		"?board=Otter&fins=90":                {"overlap", "at most", "This cannot be computed", "88.8"},
		"?board=Otter&gap=-2":                 {"cannot be computed", `id="f-gap"`},
		"?board=Otter&emissivity=2":           {"This cannot be computed"},
		"?board=Otter&fin-height=0,03 m":      {"Tried"},
		"?board=Otter&fan-flow=7 cfm":         {"common practice, no source", "0.3 to 0.8"},
		"?board=Otter&air-speed=40":           {"0 to 10 m/s"},
		"?board=Otter&sink=none":              {"Tried", "limit broken"},
		"?board=Otter&sink=none&fins=8":       {"there is to be none"},
		"?board=Otter&interface=1e6":          {"0 to 100 K/W"},
		"?board=Otter&fins=20":                {"More fins make it hotter"},
		"?board=Stoat":                        {"Marten"},
		"?board=Otter&power=5000":             {"more than 20 times"},
		"?board=Otter&air-speed=1&fan-flow=3": {"one of the two"},
	} {
		w := ask(t, s, "GET", path+strings.ReplaceAll(query, " ", "%20"), nil)
		t.Run(query, func(t *testing.T) { contains(t, w, 200, want...) })
	}
	contains(t, ask(t, s, "GET", at("studies", heron, "cooling"), nil), 200, "Was it settled?", "ends at", "time constant of", "no fan is needed", "needs the board")
	bare, err := nb.NewStudy(t.Context(), emptyPlan("Is it warm?"), notebook.Origin{})
	if err != nil {
		t.Fatal(err)
	}
	contains(t, ask(t, s, "GET", at("studies", bare.StudyID, "cooling"), nil), 200, "Not yet")
}

var coolingHref = regexp.MustCompile(`href="(/studies/\d+/cooling/[^"#]+)`)

// Every temperature of the page opens to what it was computed from, for what is
// asked and tried.
func TestTemperaturesOpen(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	for _, path := range []string{at("studies", importExample(t, nb), "cooling") + "?board=Otter&fin-height=30", at("studies", importHeron(t, nb), "cooling")} {
		opened := map[string]bool{}
		for _, m := range coolingHref.FindAllStringSubmatch(ask(t, s, "GET", path, nil).Body.String(), -1) {
			opened[html.UnescapeString(m[1])] = true
		}
		if len(opened) != 2 {
			t.Errorf("%s leads to %v", path, opened)
		}
		for to := range opened {
			contains(t, ask(t, s, "GET", to, nil), 200, "How it is found", "By cause", "By input", "thermometer specification", "case probe", "What limits the rise", "as power to the")
		}
	}
	contains(t, ask(t, s, "GET", at("studies", 1, "cooling", "Otter", "lid"), nil), 404)
}

// BenchmarkCooling is one movement of a slider: of the sink, and of the room.
func BenchmarkCooling(b *testing.B) {
	nb := newNotebook(b)
	s := newServer(b, nb)
	id := importExample(b, nb)
	for name, query := range map[string]string{"sink": "?board=Marten&fin-height=%.2f", "room": "?board=Marten&fin-height=30&room=%.2f"} {
		b.Run(name, func(b *testing.B) {
			i := 0
			for b.Loop() {
				i++
				if w := ask(b, s, "GET", at("studies", id, "cooling")+fmt.Sprintf(query, 20+float64(i%2000)/100), nil); w.Code != 200 {
					b.Fatal(w.Body.String())
				}
			}
		})
	}
}

// Sliders move the figure and the address, the back button moves them back, and a
// link shows the same: in a real browser, at three widths, without complaints.
func TestCoolingSliders(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id, heron := importExample(t, nb), importHeron(t, nb)
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	path := at("studies", id, "cooling") + "?board=Otter"
	for i, x := range []struct {
		path  string
		width int64
		theme string
	}{{path + "&fin-height=30", 360, "light"}, {at("studies", heron, "cooling"), 820, "light"}, {at("studies", id, "cooling", "Otter", "case"), 360, "light"}, {path, 1440, "dark"}} {
		b.look(x.width, x.theme)
		b.open(x.path)
		b.until("document.fonts.status === 'loaded'")
		b.fits()
		if i != 1 {
			b.accessible()
		}
		b.picture(fmt.Sprintf("cooling-%d", i))
	}
	const figure = "document.querySelector('#cooling-now .big').textContent"
	was := eval[string](b, figure)
	slide := func(name, to string) {
		t.Helper()
		eval[bool](b, `(() => { const s = document.querySelector("#f-`+name+` ~ .cool-slide"); s.value = "`+to+`"; s.dispatchEvent(new Event("input", {bubbles: true})); s.dispatchEvent(new Event("change", {bubbles: true})); return true; })()`)
	}
	slide("fin-height", "30")
	b.until(figure + " !== " + quoted(was) + " && location.search.includes('fin-height=30')")
	taller := eval[string](b, figure)
	slide("room", "60")
	b.until(figure + " !== " + quoted(taller) + " && location.search.includes('room=60')")
	link := eval[string](b, "location.pathname + location.search")
	warm := eval[string](b, figure)
	slide("fins", "99")
	b.until("document.querySelector('#f-fins-said').textContent.length > 8")
	eval[bool](b, "history.back(); true")
	b.until(figure + " === " + quoted(warm) + " && document.querySelector('#f-fins').value === ''")
	eval[bool](b, "history.back(); true")
	b.until(figure + " === " + quoted(taller) + " && document.querySelector('#f-room').value === ''")
	b.open(link)
	if got := eval[string](b, figure); got != warm {
		t.Errorf("the link shows %s, the page showed %s", got, warm)
	}
	// By submit, without script.
	b.withoutScript()
	b.open(path)
	b.fill("#f-fin-height", "30")
	b.click("#cooling-form button.primary")
	b.until("location.search.includes('fin-height=30')")
	if got := eval[string](b, figure); got != taller {
		t.Errorf("without script %s, with it %s", got, taller)
	}
	for _, x := range said() {
		t.Errorf("the browser says: %s", x)
	}
}
