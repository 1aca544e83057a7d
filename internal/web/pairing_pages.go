package web

import (
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"rsc.io/qr"

	"railtally/internal/notebook"
)

func (s *Server) pairingRoutes(rt *routes) {
	rt.handle("GET /pair", s.askCode)
	rt.handle("POST /pair", s.takeCode)
	rt.handle("GET /devices", s.hostOnly(s.showDevices))
	rt.handle("POST /devices/{device}/revoke", s.hostOnly(s.revokeDevice))
}

// hostOnly keeps a page to this computer: who is let in is decided where the
// notebook lies.
func (s *Server) hostOnly(h handler) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if !fromHost(r) {
			return &problem{http.StatusForbidden, "Only at the notebook's computer", "devices are let in and sent away where the notebook is", "Open this page in a browser on that computer."}
		}
		return h(w, r)
	}
}

type askView struct{ Code, Name field }

func (s *Server) askCode(w http.ResponseWriter, r *http.Request) error {
	if fromHost(r) {
		return seeOther(w, r, "/devices")
	}
	f := newForm(url.Values{"code": {r.URL.Query().Get("code")}})
	return s.ask(w, r, f, 0)
}

func (s *Server) ask(w http.ResponseWriter, r *http.Request, f *form, status int) error {
	return s.render(w, r, "pairing", page{Status: status, Title: "Pair this device", Data: askView{
		Code: f.fill(field{Name: "code", Label: "Code", Hint: "Eight signs, shown on the notebook's computer under Devices.", Required: true, Autofocus: f.Raw("code") == ""}),
		Name: f.fill(field{Name: "name", Label: "What this device is called", Hint: "Entries made on it carry this name, such as: phone at the bench.", Required: true, Autofocus: f.Raw("code") != ""}),
	}})
}

func (s *Server) takeCode(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	name := f.Text("name", true)
	if len(name) > 60 {
		f.Fault("name", "this name is too long", "at most 60 characters")
	}
	if !f.OK() {
		return s.ask(w, r, f, http.StatusUnprocessableEntity)
	}
	ok, wait := s.pairing.use(f.Raw("code"), addressOf(r))
	switch {
	case wait > 0:
		seconds := strconv.Itoa(int(wait/time.Second) + 1)
		w.Header().Set("Retry-After", seconds)
		f.Fault("code", "there were too many tries; wait "+seconds+" seconds", "")
		return s.ask(w, r, f, http.StatusTooManyRequests)
	case !ok:
		f.Fault("code", "this is not the code that is shown now", "each code lets one device in and holds for ten minutes")
		return s.ask(w, r, f, http.StatusUnprocessableEntity)
	}
	token, err := newToken(s.rand)
	if err != nil {
		return err
	}
	if _, err := s.nb.Pair(r.Context(), name, token); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: pairedCookie, Value: token, Path: "/", MaxAge: 400 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	s.log.Info("device paired", "name", name, "address", addressOf(r))
	return seeOther(w, r, "/studies")
}

type devicesView struct {
	Address, Link string
	Code          string // "K7QM 2XPD"
	Until         string
	QR            template.HTML
	Devices       []deviceRow
}

type deviceRow struct {
	ID           int64
	Name, Paired string
	Revoked      string
}

func (s *Server) showDevices(w http.ResponseWriter, r *http.Request) error {
	v := devicesView{Address: s.address}
	if s.address != "" {
		code, until, err := s.pairing.current()
		if err != nil {
			return err
		}
		v.Code, v.Until = code[:codeLen/2]+" "+code[codeLen/2:], until.Format("15:04")
		v.Link = s.address + "/pair?code=" + code
		if v.QR, err = qrPicture(v.Link); err != nil {
			return err
		}
	}
	devices, err := s.nb.Devices(r.Context())
	if err != nil {
		return err
	}
	for _, d := range devices {
		v.Devices = append(v.Devices, deviceOf(d))
	}
	return s.render(w, r, "devices", page{Title: "Devices", Data: v})
}

func deviceOf(d notebook.Device) deviceRow {
	row := deviceRow{ID: d.ID, Name: d.Name, Paired: moment(d.Paired)}
	if !d.Revoked.IsZero() {
		row.Revoked = moment(d.Revoked)
	}
	return row
}

func (s *Server) revokeDevice(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "device")
	if err != nil {
		return err
	}
	if err := s.nb.Revoke(r.Context(), id); err != nil {
		return err
	}
	s.leavers.send(id)
	flash(w, "The device was sent away. It can be paired again.")
	return seeOther(w, r, "/devices")
}

// qrPicture draws a text as a QR code. Its ground stays light in the dark theme
// too: readers expect dark on light.
func qrPicture(text string) (template.HTML, error) {
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", err
	}
	const quiet = 4 // modules of margin, as the standard asks (ISO/IEC 18004, 5.3.8; from memory)
	side := strconv.Itoa(c.Size + 2*quiet)
	var b strings.Builder
	b.WriteString(`<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ` + side + ` ` + side + `" role="img" aria-label="QR code that opens the pairing page" shape-rendering="crispEdges">`)
	b.WriteString(`<rect width="` + side + `" height="` + side + `" fill="#ffffff"/><path fill="#000000" d="`)
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			if n := x - from; n > 0 {
				b.WriteString("M" + strconv.Itoa(from+quiet) + " " + strconv.Itoa(y+quiet) + "h" + strconv.Itoa(n) + "v1h-" + strconv.Itoa(n) + "z")
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String()), nil
}

// moment writes a time of this computer's clock for people.
func moment(t time.Time) string { return t.Local().Format("2 January 2006, 15:04") }
