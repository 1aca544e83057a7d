package web

import "testing"

// What the results page leaves for later comes when it is looked at, its pages
// fit a phone, and two states that nobody asked about are compared.
func TestResultsInABrowser(t *testing.T) {
	nb := newNotebook(t)
	s := newServer(t, nb)
	id := importExample(t, nb)
	b := newBrowser(t, listening(t, s))
	said := b.complaints()
	b.look(360, "light")
	b.open(at("studies", id, "results"))
	// Scrolling down, part after part.
	for _, part := range []string{"effects", "steps", "shares", "matrix"} {
		b.until(`(() => { const p = document.querySelector("#later-` + part + `"); p.lastElementChild.scrollIntoView(); p.scrollIntoView(); return p.querySelector("figure svg") !== null })()`)
	}
	b.fits()
	b.accessible()
	b.picture("results-later-360-light")
	if *shots != "" {
		for _, look := range []struct {
			width int64
			theme string
			name  string
		}{{820, "dark", "820-dark"}, {1440, "light", "1440-light"}} {
			b.look(look.width, look.theme)
			b.fits()
			b.picture("results-later-" + look.name)
		}
		b.look(360, "light")
	}
	b.later(`document.querySelector("#f-first").selectedIndex = 1; document.querySelector(".choose button").click()`)
	b.until(`location.pathname.includes("/differences/") && document.querySelector("#difference-judged") !== null`)
	if *shots != "" {
		b.screens([]screen{
			{"effect", at("studies", id, "effects", "Otter", "drives 4")},
			{"claim", at("studies", id, "claims", 1)},
			{"claim-open", at("studies", id, "claims", 3)},
			{"sitting-effect", at("studies", id, "sitting-effect")},
			{"chosen", at("studies", id, "differences", "Otter", "bare", "Marten", "four-busy")},
		})
	} else {
		b.accessible()
		b.open(at("studies", id, "effects", "Otter", "drives 4"))
		b.fits()
		b.accessible()
	}
	for _, x := range said() {
		if x != "" {
			t.Errorf("the browser says: %s", x)
		}
	}
}

// later runs a script that may leave the page.
func (b *browser) later(script string) {
	b.t.Helper()
	eval[bool](b, "setTimeout(() => {"+script+"}, 0); true")
}
