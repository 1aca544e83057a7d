package plan

import (
	"bytes"
	_ "embed" // the sheet's template and style
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
	"time"

	"railtally/internal/look"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

var (
	//go:embed sheet/sheet.html
	sheetHTML string
	//go:embed sheet/sheet.css
	sheetCSS string
)

// SheetOptions are what a bench sheet shows besides its plan.
type SheetOptions struct {
	Program string  // name and version, for the colophon
	Photos  []Photo // of the boards, with pins
}

// Sheet writes the page that is printed and taken to the bench: parts, rails, the
// order of work with its cautions and empty fields to write in. It is whole in
// one file. Nothing is written when it cannot be completed.
func Sheet(w io.Writer, p *Plan, o SheetOptions) error {
	set, err := template.New("sheet").Funcs(template.FuncMap{
		"css":     func() template.CSS { return template.CSS(look.FontCSS() + look.CSS() + sheetCSS) },
		"minutes": Minutes,
		"amps":    amps,
	}).Parse(sheetHTML)
	if err != nil {
		return fmt.Errorf("sheet: %w", err)
	}
	var page bytes.Buffer
	if err := set.Execute(&page, sheetOf(p, o)); err != nil {
		return fmt.Errorf("sheet: %w", err)
	}
	_, err = w.Write(page.Bytes())
	return err
}

// sheetView is what the template shows.
type sheetView struct {
	Question, Program string
	Seed              uint64
	All, Sittings     string
	Answers           []string
	Questions         []string
	Parts             []sheetPart
	Rails             []sheetRail
	Boards            []sheetBoard
	Phases            []sheetPhase
	Level             string
	Stop              string // the caution that comes before everything
	Wrong             []string
}

// sheetPart is a line of the parts list.
type sheetPart struct{ What, For string }

type sheetRail struct {
	Board, Name, Nominal, Feed, Current, Sensor, Loop, Drop, Pins string
}

// sheetBoard is what is to be looked at before a board is opened.
type sheetBoard struct {
	Name    string
	Remarks []BoardRemark
	Photos  []sheetPhoto
}

type sheetPhase struct {
	Name, Board, Takes string
	Tasks              []sheetTask
}

type sheetTask struct {
	N        int
	At, Text string
	Fields   []string
	Cautions []string
	Proof    bool
}

func sheetOf(p *Plan, o SheetOptions) sheetView {
	all, sittings := p.Takes()
	v := sheetView{Question: p.Study.Question, Program: o.Program, Seed: p.Seed, All: Minutes(all), Sittings: Minutes(sittings),
		Level: tally.Percent(p.Study.Level), Stop: CautionMains.Text()}
	for _, q := range p.Questions {
		v.Questions = append(v.Questions, q.Text+".")
	}
	for _, c := range p.Counsels {
		v.Answers = append(v.Answers, c.Sentence())
	}
	for _, b := range p.Boards {
		for _, r := range b.Rails {
			x := sheetRailOf(b, r)
			x.Pins = pinsOf(b.Name, r.Name, o.Photos)
			v.Rails = append(v.Rails, x)
			v.Parts = append(v.Parts, partsOf(b, r)...)
		}
		remarks := b.Remarks(false)
		v.Boards = append(v.Boards, sheetBoard{b.Name, remarks, photosOf(b.Name, o.Photos)})
		for _, k := range remarks {
			if k.Grade == Wrong {
				v.Wrong = append(v.Wrong, fmt.Sprintf("%s %s: %s %s", b.Name, k.About(), k.Text, k.Do))
			}
		}
	}
	n, told := 0, map[Caution]bool{}
	var phase *sheetPhase
	took := time.Duration(0)
	for _, t := range p.Work {
		if phase == nil || phase.Name != t.Phase || phase.Board != t.Board {
			v.Phases = append(v.Phases, sheetPhase{Name: t.Phase, Board: t.Board})
			phase, took = &v.Phases[len(v.Phases)-1], 0
		}
		n++
		took += t.Takes
		phase.Takes = Minutes(took)
		x := sheetTask{N: n, Text: t.Text, Fields: t.Fields, Proof: t.Proof != ""}
		if strings.HasPrefix(t.Phase, "sitting") {
			x.At = clockText(t.At)
		}
		// In full where a caution first comes, in short where it comes again.
		var again []string
		for _, c := range t.Cautions {
			switch {
			case c == CautionMains:
			case told[c]:
				again = append(again, c.Short())
			default:
				told[c] = true
				x.Cautions = append(x.Cautions, c.Text())
			}
		}
		if len(again) > 0 {
			x.Cautions = append([]string{strings.Join(again, " ")}, x.Cautions...)
		}
		phase.Tasks = append(phase.Tasks, x)
	}
	return v
}

// clockText is a time since the sitting began: "0:34".
func clockText(d time.Duration) string {
	m := int(d.Round(time.Minute).Minutes())
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

func sheetRailOf(b *Board, r *Rail) sheetRail {
	x := sheetRail{Board: b.Name, Name: r.Name, Nominal: asWritten(r.Nominal), Feed: string(r.Feed), Current: "not said"}
	if r.Known {
		x.Current = amps(r.Highest)
	}
	if r.Bound != nil {
		x.Sensor, x.Feed = "not opened, "+asWritten(*r.Bound), ""
		return x
	}
	var sensors, loops, drops []string
	for i, t := range r.Taps {
		sensors = append(sensors, tapText(&study.Rail{Taps: []*study.Tap{t}}))
		if t.Loop != nil {
			loops = append(loops, t.Loop.String())
		}
		o := r.Openings[i]
		if !math.IsNaN(o.Added) && o.Added > 0 {
			drops = append(drops, fmt.Sprintf("%s of %s", volts(o.Drop), volts(o.Band)))
		}
	}
	x.Sensor, x.Loop, x.Drop = strings.Join(sensors, "; "), strings.Join(loops, "; "), strings.Join(drops, "; ")
	return x
}

// partsOf lists what a rail needs.
func partsOf(b *Board, r *Rail) (out []sheetPart) {
	for _, t := range r.Taps {
		of := b.Name + " " + r.Name
		if t.Name != "" {
			of += " " + t.Name
		}
		switch {
		case t.Kind == study.TapClamp && t.Loop != nil && r.Checks == "":
			out = append(out, sheetPart{"wire, " + t.Loop.String(), of})
		case t.Kind == study.TapClamp && r.Checks == "":
			out = append(out, sheetPart{"wire, length and gauge to be chosen", of})
		case t.Kind == study.TapShunt && t.Instrument != "":
			out = append(out, sheetPart{t.Instrument, of})
		case t.Kind == study.TapShunt:
			out = append(out, sheetPart{"shunt " + asWritten(t.Resistor.Resistance), of})
		}
	}
	return out
}

// asWritten is a quantity as a person wrote it.
func asWritten(e quantity.Entry) string {
	if e.Text != "" {
		return e.Text
	}
	return e.String()
}
