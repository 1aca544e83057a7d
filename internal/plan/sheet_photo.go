package plan

import (
	"encoding/base64"
	"fmt"
	"html/template"
	"strings"
)

// Photo is a photograph of a board, for the bench sheet, with what is marked on
// it.
type Photo struct {
	Board, Side, Note string
	Type              string // "image/jpeg" or "image/png"
	Bytes             []byte
	Width, Height     int
	Pins              []Pin
}

// Pin marks a place on a photograph: where a rail is opened, or where its voltage
// is read.
type Pin struct {
	Number      int // 0: none
	X, Y        float64
	Rail, Label string
	Note        string
}

// sheetPhoto is a photograph as the sheet's template shows it.
type sheetPhoto struct {
	Title         string
	Src           template.URL
	Width, Height int
	Pins          []sheetPin
}

type sheetPin struct {
	Mark   string
	CX, CY int
	R, Dot int
	Size   int // of its mark's letters
	Label  string
}

// photosOf sets out a board's photographs. Pins without a number get letters, so
// that the list below tells them apart in print.
func photosOf(board string, all []Photo) (out []sheetPhoto) {
	for _, f := range all {
		if f.Board != board || f.Type != "image/jpeg" && f.Type != "image/png" || f.Width <= 0 || f.Height <= 0 {
			continue
		}
		x := sheetPhoto{Title: f.Board + ", " + f.Side, Width: f.Width, Height: f.Height,
			Src: template.URL("data:" + f.Type + ";base64," + base64.StdEncoding.EncodeToString(f.Bytes))} // its type is one of two, its text base64
		if f.Note != "" {
			x.Title += ": " + f.Note
		}
		for _, p := range f.Pins {
			label := p.Label
			if p.Note != "" {
				label += ": " + p.Note
			}
			x.Pins = append(x.Pins, sheetPin{Mark: pinMark(f.Pins, p), CX: int(p.X * float64(f.Width)), CY: int(p.Y * float64(f.Height)),
				R: max(f.Width, f.Height) / 55, Dot: max(2, max(f.Width, f.Height)/400), Size: max(f.Width, f.Height) / 30, Label: label})
		}
		out = append(out, x)
	}
	return out
}

// pinMark is a pin's number, or a letter where it has none.
func pinMark(all []Pin, p Pin) string {
	if p.Number > 0 {
		return fmt.Sprint(p.Number)
	}
	n := 0
	for _, x := range all {
		if x == p {
			break
		}
		if x.Number == 0 {
			n++
		}
	}
	return strings.Repeat(string(rune('a'+n%26)), 1+n/26)
}

// pinsOf names the pins of a rail on a board's photographs: "front 3, 4".
func pinsOf(board, rail string, all []Photo) string {
	var parts []string
	for _, f := range all {
		if f.Board != board {
			continue
		}
		var marks []string
		for _, p := range f.Pins {
			if p.Rail == rail {
				marks = append(marks, pinMark(f.Pins, p))
			}
		}
		if len(marks) > 0 {
			parts = append(parts, f.Side+" "+strings.Join(marks, ", "))
		}
	}
	return strings.Join(parts, "; ")
}
