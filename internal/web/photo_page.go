package web

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"railtally/internal/notebook"
	"railtally/internal/study"
)

func (s *Server) photoRoutes(rt *routes) {
	// One picture at a time: decoded, the largest takes a quarter of a gigabyte.
	one := make(chan struct{}, 1)
	rt.handleBody("POST /studies/{study}/photos", photoBytes+bodyLimit, func(w http.ResponseWriter, r *http.Request) error {
		select {
		case one <- struct{}{}:
		case <-r.Context().Done():
			return r.Context().Err()
		}
		defer func() { <-one }()
		return s.addPhoto(w, r)
	})
	rt.handle("GET /studies/{study}/photos/{sum}", s.picture)
	rt.handle("GET /studies/{study}/plan/photos/{photo}", s.showPhoto)
	rt.handle("POST /studies/{study}/plan/photos/{photo}/remove", s.removePhoto)
	rt.handle("POST /studies/{study}/plan/photos/{photo}/pins", s.addPin)
	rt.handle("POST /studies/{study}/plan/photos/{photo}/pins/{pin}", s.savePin)
	rt.handle("POST /studies/{study}/plan/photos/undo", s.undoPhoto)
}

// addPhoto takes a photograph of a board's side, or of a step at the bench.
func (s *Server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	if err := r.ParseMultipartForm(1 << 20); err != nil {
		if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
			return err
		}
		return badRequest("the photograph did not arrive", "Choose it again.")
	}
	defer func() { _ = r.MultipartForm.RemoveAll() }() // files of its own making; what stays goes with the folder
	file, _, err := r.FormFile("photo")
	if err != nil {
		return badRequest("no photograph was chosen", "Choose one in JPEG or PNG.")
	}
	defer file.Close()
	src, err := io.ReadAll(io.LimitReader(file, photoBytes+1))
	if err != nil {
		return err
	}
	pic, err := cleanPhoto(src)
	if err != nil {
		return &problem{http.StatusUnprocessableEntity, "That photograph was not taken", err.Error(), "JPEG or PNG up to 20 MiB and 60 megapixels are taken."}
	}
	v := notebook.View{Board: r.FormValue("board"), Side: notebook.Side(r.FormValue("side")), Note: strings.TrimSpace(r.FormValue("note"))}
	if step := r.FormValue("step"); step != "" {
		n, err := numberFrom(step)
		if err != nil {
			return err
		}
		v = notebook.View{Step: n, Note: v.Note}
	}
	o := s.origin(r, "")
	o.Key = r.FormValue("key")
	ack, err := s.nb.AddPhoto(r.Context(), id, v, pic, o)
	if err != nil {
		return err
	}
	if v.Step != 0 {
		flash(w, "The photograph of the step is kept.")
		return seeOther(w, r, "/studies/"+r.PathValue("study")+"/bench/"+url.PathEscape(r.FormValue("sitting")))
	}
	flash(w, "The photograph is kept, without place, time or camera. Now put the pins.")
	return seeOther(w, r, at("studies", id, "plan", "photos", ack.First))
}

// picture serves the bytes of a photograph of this study.
func (s *Server) picture(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	sum := r.PathValue("sum")
	photos, err := s.nb.Photos(r.Context(), id)
	if err != nil {
		return err
	}
	for _, f := range photos {
		if f.SHA256 != sum {
			continue
		}
		p, err := s.nb.PictureOf(r.Context(), sum)
		if err != nil {
			return err
		}
		w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
		return send(w, r, http.StatusOK, p.Type, p.Bytes)
	}
	return notFound("this study has no such photograph")
}

// photoView is the page on which pins are put.
type photoView struct {
	Study  int64
	Photo  *notebook.Photo
	Src    string
	Title  string
	Pins   []pinLine
	Places []placeLine // what still has no pin
	Key    string
	Next   int
}

type pinLine struct {
	notebook.Pin
	Label  string
	CX, CY float64
	Place  string // chosen place, as an option's value
	Places []option
	Key    string
}

// placeLine is something that a pin can mark.
type placeLine struct{ Value, Label string }

func (s *Server) photoFromPath(r *http.Request) (id int64, rec *notebook.Record, photo *notebook.Photo, err error) {
	if id, err = numberIn(r, "study"); err != nil {
		return
	}
	n, err := numberIn(r, "photo")
	if err != nil {
		return
	}
	if rec, err = s.nb.Record(r.Context(), id); err != nil {
		return
	}
	photos, err := s.nb.Photos(r.Context(), id)
	if err != nil {
		return
	}
	for i := range photos {
		if photos[i].First == n {
			return id, rec, &photos[i], nil
		}
	}
	return id, rec, nil, notFound("this study has no such photograph")
}

func (s *Server) showPhoto(w http.ResponseWriter, r *http.Request) error {
	id, rec, photo, err := s.photoFromPath(r)
	if err != nil {
		return err
	}
	pins, err := s.nb.Pins(r.Context(), id)
	if err != nil {
		return err
	}
	v := &photoView{Study: id, Photo: photo, Src: photoPath(id, photo), Title: photo.Board + ", " + string(photo.Side), Next: 1}
	if v.Key, err = s.newKey(); err != nil {
		return err
	}
	places := placesOf(rec.Study.Board(photo.Board))
	marked := map[string]bool{}
	for _, p := range pins {
		if p.Photo != photo.First {
			continue
		}
		l := pinLine{Pin: p, Label: pinLabel(&p), CX: p.X * float64(photo.Width), CY: p.Y * float64(photo.Height), Place: placeValue(&p.Spot)}
		if l.Key, err = s.newKey(); err != nil {
			return err
		}
		for _, x := range places {
			l.Places = append(l.Places, option{x.Value, x.Label, x.Value == l.Place})
		}
		marked[l.Place] = true
		v.Next = max(v.Next, p.Number+1)
		v.Pins = append(v.Pins, l)
	}
	for _, x := range places {
		if !marked[x.Value] {
			v.Places = append(v.Places, x)
		}
	}
	v.Places = append(v.Places, placeLine{"other", "something else"})
	return s.render(w, r, "photo", page{Title: v.Title, Study: openedFrom(id, rec), Tab: "plan", Live: true,
		Styles: []string{"bench.css", "plan.css"}, Scripts: []string{"photo.js"}, Data: v})
}

// placesOf lists what pins can mark on a board: for each rail where it is opened
// and where its voltage is probed.
func placesOf(b *study.Board) []placeLine {
	if b == nil {
		return nil
	}
	var out []placeLine
	add := func(s notebook.Spot) { out = append(out, placeLine{placeValue(&s), pinLabel(&notebook.Pin{Spot: s})}) }
	for _, rails := range [][]*study.Rail{b.Rails, b.Inputs} {
		for _, r := range rails {
			for _, t := range r.Taps {
				add(notebook.Spot{Role: notebook.Opening, Rail: r.Name, Tap: t.Name})
			}
			add(notebook.Spot{Role: notebook.Probe, Rail: r.Name})
		}
	}
	return out
}

// placeValue writes what a pin marks as the value of an option.
func placeValue(s *notebook.Spot) string {
	if s.Role == notebook.Other {
		return "other"
	}
	return listed(string(s.Role), s.Rail, s.Tap)
}

// spotOf reads a pin's form.
func spotOf(f *form) (notebook.Spot, error) {
	s := notebook.Spot{Role: notebook.Other, Point: f.Text("point", false), Note: f.Text("note", false)}
	if place := unlisted(f.Raw("place"), 3); place != nil {
		s.Role, s.Rail, s.Tap = notebook.Role(place[0]), place[1], place[2]
	}
	var err error
	if s.X, err = strconv.ParseFloat(f.Raw("x"), 64); err != nil {
		return s, badRequest("the pin has no place on the picture", "Put it again.")
	}
	if s.Y, err = strconv.ParseFloat(f.Raw("y"), 64); err != nil {
		return s, badRequest("the pin has no place on the picture", "Put it again.")
	}
	if s.Number, err = strconv.Atoi(f.Raw("number")); err != nil || s.Number > 999 {
		return s, badRequest("the pin has no number", "A number from 1 to 999 is taken.")
	}
	return s, nil
}

func (s *Server) addPin(w http.ResponseWriter, r *http.Request) error {
	id, _, photo, err := s.photoFromPath(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	spot, err := spotOf(f)
	if err != nil {
		return err
	}
	ack, err := s.nb.AddPin(r.Context(), photo.First, spot, s.origin(r, ""))
	if err != nil {
		return err
	}
	if wantsJSON(r) {
		return sendJSON(w, r, http.StatusOK, answer(ack))
	}
	return seeOther(w, r, at("studies", id, "plan", "photos", photo.First))
}

// savePin moves a pin, changes what it says, or takes it off.
func (s *Server) savePin(w http.ResponseWriter, r *http.Request) error {
	id, _, photo, err := s.photoFromPath(r)
	if err != nil {
		return err
	}
	pin, err := numberIn(r, "pin")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if of, _, err := s.nb.StudyOf(r.Context(), notebook.APin, pin); err != nil || of != id {
		return notFound("this study has no such pin")
	}
	var ack notebook.Ack
	if f.Checked("remove") {
		if ack, err = s.nb.Withdraw(r.Context(), notebook.APin, pin, s.origin(r, "taken off")); err == nil {
			flashUndo(w, "The pin was taken off.", at("studies", id, "plan", "photos", "undo"),
				map[string]string{"what": string(notebook.APin), "id": strconv.FormatInt(ack.ID, 10), "photo": strconv.FormatInt(photo.First, 10)})
		}
	} else {
		var spot notebook.Spot
		if spot, err = spotOf(f); err == nil {
			ack, err = s.nb.MovePin(r.Context(), pin, spot, s.origin(r, "moved"))
		}
	}
	if wantsJSON(r) {
		if err != nil {
			p := explain(err)
			return sendJSON(w, r, p.Status, kept{Error: p.Text, Accept: p.Do})
		}
		return sendJSON(w, r, http.StatusOK, answer(ack))
	}
	if err != nil {
		return err
	}
	return seeOther(w, r, at("studies", id, "plan", "photos", photo.First))
}

func (s *Server) removePhoto(w http.ResponseWriter, r *http.Request) error {
	id, _, photo, err := s.photoFromPath(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return err
	}
	ack, err := s.nb.Withdraw(r.Context(), notebook.APhoto, photo.ID, s.origin(r, "taken off"))
	if err != nil {
		return err
	}
	flashUndo(w, "The photograph was taken off. It stays in the notebook's history.", at("studies", id, "plan", "photos", "undo"),
		map[string]string{"what": string(notebook.APhoto), "id": strconv.FormatInt(ack.ID, 10), "photo": strconv.FormatInt(photo.First, 10)})
	return seeOther(w, r, at("studies", id, "plan"))
}

// undoPhoto brings a photograph or a pin back that was taken off.
func (s *Server) undoPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	what, row := notebook.What(f.Raw("what")), int64Of(f.Raw("id"))
	if of, _, err := s.nb.StudyOf(r.Context(), what, row); err != nil || of != id || what != notebook.APhoto && what != notebook.APin {
		return notFound("this study has no such photograph or pin")
	}
	if _, err := s.nb.Undo(r.Context(), what, row, s.origin(r, "undo")); err != nil {
		return err
	}
	flash(w, "It is back.")
	return seeOther(w, r, at("studies", id, "plan", "photos", int64Of(f.Raw("photo"))))
}
