package web

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"strings"

	"railtally/internal/bundle"
	"railtally/internal/notebook"
	"railtally/internal/redact"
)

func (s *Server) bundleRoutes(rt *routes) {
	rt.handle("GET /studies/{study}/report/bundle", s.askBundle)
	rt.handle("POST /studies/{study}/report/bundle", s.sendBundle)
}

// bundleView is the page on which a study is packed.
type bundleView struct {
	Action string
	Boxes  []field
	Words  field
	Left   []notebook.Unfinished // what is not complete yet and does not go in
}

// withheldLabels say what a box leaves out.
var withheldLabels = []struct {
	kind        redact.Kind
	label, hint string
}{
	{redact.Names, "Leave out names", "Who worked and who calibrated. An alias stands for each, the same one everywhere."},
	{redact.Serials, "Leave out serial numbers", "Of instruments, wherever they are written."},
	{redact.Notes, "Leave out notes", "Every note, also those to photographs and pins."},
}

func (s *Server) askBundle(w http.ResponseWriter, r *http.Request) error {
	return s.showBundle(w, r, newForm(nil), 0)
}

func (s *Server) showBundle(w http.ResponseWriter, r *http.Request, f *form, status int) error {
	o, err := s.studyFromPath(r)
	if err != nil {
		return err
	}
	v := bundleView{Action: at("studies", o.ID, "report", "bundle")}
	for _, x := range withheldLabels {
		v.Boxes = append(v.Boxes, f.fill(field{Name: string(x.kind), Label: x.label, Hint: x.hint, Kind: "check"}))
	}
	v.Words = f.fill(field{Name: "words", Label: "Words to leave out", Kind: "area", Rows: 3, Wide: true,
		Hint: "One in each line: the place, a company, a project. Each is replaced wherever it stands, also in names of boards and instruments."})
	_, v.Left = notebook.Finished(o.Record.Study)
	return s.render(w, r, "bundle", page{Status: status, Title: "A file that others can check", Study: o, Tab: "report", Data: v})
}

// sendBundle packs the study and sends it to be saved.
func (s *Server) sendBundle(w http.ResponseWriter, r *http.Request) error {
	id, err := numberIn(r, "study")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c, err := bundle.FromNotebook(r.Context(), s.nb, id)
	if err != nil {
		if notebook.CodeOf(err) != notebook.Failed {
			return err
		}
		return &problem{http.StatusConflict, "This study cannot be packed yet", err.Error(), "Finish its plan first."}
	}
	c.Program = s.program
	if o := withheld(f); len(o.Kinds)+len(o.Words) > 0 {
		if c, _, err = c.Without(o); err != nil {
			f.Fault("words", err.Error(), "")
			return s.showBundle(w, r, f, http.StatusUnprocessableEntity)
		}
	}
	var b bytes.Buffer
	if err := bundle.Pack(&b, c); err != nil {
		f.Fault("words", err.Error(), "")
		return s.showBundle(w, r, f, http.StatusUnprocessableEntity)
	}
	w.Header().Set("Content-Disposition", attachment(c.Study.Question, "zip"))
	w.Header().Set("Cache-Control", "no-store")
	return send(w, r, http.StatusOK, "application/zip", b.Bytes())
}

// withheld reads what is to be left out.
func withheld(f *form) redact.Options {
	var o redact.Options
	for _, x := range withheldLabels {
		if f.Checked(string(x.kind)) {
			o.Kinds = append(o.Kinds, x.kind)
		}
	}
	for line := range strings.Lines(f.Raw("words")) {
		if word := strings.Join(strings.Fields(line), " "); word != "" {
			o.Words = append(o.Words, word)
		}
	}
	return o
}

// bundleLimit is how many bytes a bundle may have that is taken in.
const bundleLimit = 256 << 20

// isBundle tells whether a file that was sent begins like an archive.
func isBundle(f multipart.File) bool {
	head := make([]byte, 4)
	_, err := f.ReadAt(head, 0)
	return err == nil && bytes.HasPrefix(head, []byte("PK"))
}

// importBundle takes in a bundle, once everything in it follows from its
// readings: the study, and the photographs of its boards with their pins.
func (s *Server) importBundle(w http.ResponseWriter, r *http.Request, f multipart.File, head *multipart.FileHeader) error {
	const title = "That bundle was not taken in"
	b, err := bundle.Open(head.Filename, f, head.Size)
	if err != nil {
		return &problem{http.StatusUnprocessableEntity, title, err.Error(), "A bundle that railtally packed is taken in."}
	}
	v, err := b.Verify(s.program)
	if err != nil {
		return &problem{http.StatusUnprocessableEntity, title, err.Error(), ""}
	}
	if !v.Holds {
		text := v.Problems[0].Text
		if n := len(v.Problems); n > 1 {
			text += fmt.Sprintf(" That is the first of %d things that do not follow.", n)
		}
		return &problem{http.StatusUnprocessableEntity, title, text, "railtally verify tells all of them. Its study.yaml can still be unpacked and taken in as a text."}
	}
	c, err := b.Contents()
	if err != nil {
		return &problem{http.StatusUnprocessableEntity, title, err.Error(), ""}
	}
	// Pictures are decoded before anything is kept, so that a bad one leaves nothing behind.
	pictures := make([]notebook.Picture, len(c.Photos))
	for i, p := range c.Photos {
		if pictures[i], err = cleanPhoto(p.Bytes); err != nil {
			return &problem{http.StatusUnprocessableEntity, title, fmt.Sprintf("%s: %v", p.File, err), ""}
		}
	}
	o := s.origin(r, "taken in from "+head.Filename)
	o.Key = r.FormValue("key")
	study, err := s.nb.Import(r.Context(), c.Study, o)
	if err != nil {
		return err
	}
	kept, err := s.importPhotos(r, study.StudyID, c.Photos, pictures, o)
	if err != nil {
		return err
	}
	said := "The bundle verifies, and its study was taken in"
	if kept > 0 {
		said += fmt.Sprintf(" with %s", counted(kept, "photograph"))
	}
	if len(c.Traces) > 0 {
		said += "; its traces stay in the bundle"
	}
	flash(w, said+".")
	return seeOther(w, r, at("studies", study.StudyID))
}

// importPhotos keeps the photographs of boards and steps with their pins.
func (s *Server) importPhotos(r *http.Request, id int64, photos []bundle.Photo, pictures []notebook.Picture, o notebook.Origin) (kept int, err error) {
	rec, err := s.nb.Record(r.Context(), id)
	if err != nil {
		return 0, err
	}
	steps := bundle.StepNames(rec)
	for i, p := range photos {
		view := notebook.View{Board: p.Board, Side: notebook.Side(p.Side), Note: p.Note}
		if p.Step != "" {
			view = notebook.View{Step: steps[p.Step], Note: p.Note}
			if view.Step == 0 {
				continue // of a step that was taken back before it was packed
			}
		}
		own := o
		if o.Key != "" {
			own.Key = o.Key + fmt.Sprintf("-photo-%d", i+1)
		}
		ack, err := s.nb.AddPhoto(r.Context(), id, view, pictures[i], own)
		if err != nil {
			return kept, err
		}
		kept++
		for j, x := range p.Pins {
			if o.Key != "" {
				own.Key = o.Key + fmt.Sprintf("-photo-%d-pin-%d", i+1, j+1)
			}
			spot := notebook.Spot{Number: x.Number, Role: notebook.Role(x.Role), Rail: x.Rail, Tap: x.Tap, Point: x.Point, X: x.X, Y: x.Y, Note: x.Note}
			if _, err := s.nb.AddPin(r.Context(), ack.First, spot, own); err != nil {
				return kept, err
			}
		}
	}
	return kept, nil
}
