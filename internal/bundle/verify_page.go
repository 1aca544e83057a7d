package bundle

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// piece is a stretch of a page: a text that is read, or a tag with its
// attributes.
type piece struct {
	text string // collapsed white space
	tag  string // name and attributes; "" of a text
}

// pieces takes a page apart.
func pieces(page []byte) ([]piece, error) {
	z := html.NewTokenizer(bytes.NewReader(page))
	var out []piece
	for {
		switch z.Next() {
		case html.ErrorToken:
			if errors.Is(z.Err(), io.EOF) {
				return out, nil
			}
			return nil, z.Err()
		case html.TextToken:
			if s := strings.Join(strings.Fields(string(z.Text())), " "); s != "" {
				out = append(out, piece{text: s})
			}
		case html.StartTagToken, html.EndTagToken, html.SelfClosingTagToken, html.DoctypeToken, html.CommentToken:
			out = append(out, piece{tag: z.Token().String()})
		}
	}
}

// page compares the published page with the one that follows. Where the program
// that verifies is another than the one that packed, the two may be set
// differently, and only the figures are compared: every figure with a tolerance
// that the published page states must be stated on the page that follows too, as
// often.
func (v *verifier) page(published, follows []byte) {
	v.PageCompared = "figures"
	if v.same {
		v.PageCompared = "whole"
		if bytes.Equal(published, follows) {
			return
		}
	}
	a, err := pieces(published)
	b, err2 := pieces(follows)
	if err := errors.Join(err, err2); err != nil {
		v.problem(Problem{Kind: Unreadable, File: reportName, Text: fmt.Sprintf("The page cannot be read: %v.", err)})
		return
	}
	if v.same {
		v.wholePage(a, b)
		return
	}
	left := map[string]int{}
	for _, f := range figuresIn(b) {
		left[f]++
	}
	var odd []string
	for _, f := range figuresIn(a) {
		if left[f]--; left[f] < 0 {
			odd = append(odd, f)
		}
	}
	if len(odd) > 0 {
		v.problem(Problem{Kind: PageChanged, File: reportName, Published: strings.Join(odd, "; "),
			Text: fmt.Sprintf("%s states what does not follow: %s.", reportName, shortList(odd, 6))})
	}
}

// pageProblems is how many places of a page are named.
const pageProblems = 6

// wholePage compares two pages of one program piece by piece. Numbers in
// drawings may differ by a hundredth, as processors round.
func (v *verifier) wholePage(a, b []piece) {
	var found []string
	for i := range max(len(a), len(b)) {
		switch {
		case i >= len(a) || i >= len(b) || (a[i].tag == "") != (b[i].tag == ""):
			found = append(found, "from there on it is built otherwise")
		case a[i].tag == "" && a[i].text != b[i].text:
			found = append(found, fmt.Sprintf("it says “%s” where “%s” follows", clipped(a[i].text, b[i].text), clipped(b[i].text, a[i].text)))
		case a[i].tag != "" && !sameDrawing(a[i].tag, b[i].tag):
			found = append(found, fmt.Sprintf("a drawing or link is “%s” where “%s” follows", clipped(a[i].tag, b[i].tag), clipped(b[i].tag, a[i].tag)))
		default:
			continue
		}
		if len(found) == pageProblems || strings.HasPrefix(found[len(found)-1], "from there") {
			break
		}
	}
	for _, f := range found {
		v.problem(Problem{Kind: PageChanged, File: reportName, Text: fmt.Sprintf("%s does not follow from the study: %s.", reportName, f)})
	}
}

// clipped is the part of a text round the place where it differs from another.
func clipped(s, other string) string {
	x, y := []rune(s), []rune(other)
	at := 0
	for at < min(len(x), len(y)) && x[at] == y[at] {
		at++
	}
	from, to := max(0, at-30), min(len(x), at+30)
	out := string(x[from:to])
	if from > 0 {
		out = "…" + out
	}
	if to < len(x) {
		out += "…"
	}
	return out
}

var numberIn = regexp.MustCompile(`-?\d+(?:\.\d+)?`)

// sameDrawing compares two tags: all must be the same but for numbers with a
// decimal part, which may differ by one hundredth.
func sameDrawing(a, b string) bool {
	if a == b {
		return true
	}
	if p, q := pictureIn.FindStringSubmatch(a), pictureIn.FindStringSubmatch(b); p != nil && q != nil {
		return samePicture(p[1], q[1]) && sameDrawing(pictureIn.ReplaceAllString(a, ""), pictureIn.ReplaceAllString(b, ""))
	}
	if numberIn.ReplaceAllString(a, "0") != numberIn.ReplaceAllString(b, "0") {
		return false
	}
	x, y := numberIn.FindAllString(a, -1), numberIn.FindAllString(b, -1)
	for i := range x {
		if x[i] != y[i] && !(strings.Contains(x[i]+y[i], ".") && within(x[i], y[i], 0.0101)) {
			return false
		}
	}
	return true
}

// pictureIn is a photograph within a page.
var pictureIn = regexp.MustCompile(`data:image/jpeg;base64,([A-Za-z0-9+/=]+)`)

// samePicture tells whether two photographs look the same: their levels, of 255,
// differ by no more than two on average.
func samePicture(a, b string) bool {
	x, err := photoOf(a)
	y, err2 := photoOf(b)
	if err != nil || err2 != nil || x.Bounds() != y.Bounds() {
		return false
	}
	sum, n := 0.0, 0.0
	for j := x.Bounds().Min.Y; j < x.Bounds().Max.Y; j++ {
		for i := x.Bounds().Min.X; i < x.Bounds().Max.X; i++ {
			r, g, bl, _ := x.At(i, j).RGBA()
			s, h, m, _ := y.At(i, j).RGBA()
			for _, d := range []float64{float64(r) - float64(s), float64(g) - float64(h), float64(bl) - float64(m)} {
				sum += math.Abs(d) / 257
				n++
			}
		}
	}
	return sum <= 2*n
}

func photoOf(encoded string) (image.Image, error) {
	raw, err := base64.StdEncoding.DecodeString(encoded)
	if err != nil {
		return nil, err
	}
	if raw, err = bare("image/jpeg", raw); err != nil {
		return nil, err
	}
	return jpeg.Decode(bytes.NewReader(raw))
}

// statedFigure is a number with its tolerance, as pages state it.
var statedFigure = regexp.MustCompile(`[-−]?\d+(?:\.\d+)? ± \d+(?:\.\d+)?`)

// figuresIn lists the figures with a tolerance that a page states.
func figuresIn(ps []piece) []string {
	var words []string
	for _, p := range ps {
		if p.tag == "" {
			words = append(words, p.text)
		}
	}
	text := strings.Join(strings.Fields(strings.ReplaceAll(strings.Join(words, " "), "±", " ± ")), " ")
	out := statedFigure.FindAllString(text, -1)
	slices.Sort(out)
	return out
}
