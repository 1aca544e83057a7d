// Package web serves the notebook in a browser: the studies and the shelf of
// instruments, and inside a study its plan, the bench, results and report. It
// computes nothing; every figure comes from package tally.
//
// # How a page is made
//
// Each page is a file of Go with a function that registers its routes, which
// Server.pages lists, and a file of templates/ of the same name that defines
// "main". A handler returns an error instead of writing one:
//
//	func (s *Server) benchRoutes(rt *routes) {
//		rt.tab(20, "Bench", "bench")                      // in the study's navigation
//		rt.handle("GET /studies/{study}/bench", s.showBench)
//		rt.handleBody("POST /studies/{study}/photos", 24<<20, s.addPhoto) // a larger body
//		rt.stream("GET /studies/{study}/events", s.events) // no time limit
//	}
//
//	func (s *Server) showBench(w http.ResponseWriter, r *http.Request) error {
//		o, err := s.studyFromPath(r)
//		if err != nil {
//			return err
//		}
//		return s.render(w, r, "bench", page{
//			Title: "Bench", Study: o, Tab: "bench", Live: true,
//			Styles: []string{"bench.css"}, Scripts: []string{"bench.js"}, Data: v,
//		})
//	}
//
// Errors: notFound and badRequest make the usual ones, problem any other; a
// notebook.Error keeps its words and its hint. What nobody foresaw is logged and
// shown as a fault of the program. A request by htmx gets the template "problem"
// in place of a page.
//
// Addresses: at("studies", id, "results", board, state) escapes what it joins;
// nameIn and numberIn read it back; templates have "at" too. Names in addresses
// may hold anything.
//
// Parts of pages: isHTMX tells that a script asks; s.part writes one block of a
// page's template. seeOther ends a POST, for htmx too; flash leaves a sentence
// for the page that follows.
//
// Forms: readForm, then Text, Quantity and Checked, each noting what is wrong
// with its field; while OK is false the page is shown again with status 422,
// from the same form, so that everything typed is kept. The template "field"
// sets a field with label, hint and fault; its Check names an address that
// answers with the template "field-said" while the person types. A form that
// must not be kept twice sends a field "key", which s.origin passes on.
//
// Results: s.tallyOf works a study out, and only when something changed. The
// graph behind it grows as figures are opened, so hold its mu while reading.
//
// Live: with Live set, app.js listens to /studies/{study}/events (event
// "change", whose id is the change's number) and fetches the page anew; elements
// with data-live and an id are replaced. Scripts may listen to the document's
// events railtally:change, railtally:refreshed and railtally:online.
//
// Assets: a file in static/ is served under an address that holds its hash;
// templates call {{asset "bench.css"}}. Names are unique whatever the folder.
//
// # How pages are tested
//
// Handlers with ask and contains, and in a real browser with newBrowser: open,
// click, fill, keys, until, look (width and theme), fits, accessible (axe-core)
// and picture, which writes what the page looks like to the folder that the flag
// -shots names:
//
//	go test ./internal/web -run Screens -shots pages
//
// # What keeps strangers out
//
// Every request passes, in this order: headers (a policy without inline script
// or style: no style attributes, no onclick), the Host header (DNS rebinding),
// pairing (with --lan), origin (net/http's CrossOriginProtection), and limits of
// body and time. s.device names who sent it.
package web
