package notebook

import "railtally/internal/study"

// renamer looks up the new name of something by the names before the change. All
// renames of one revision happen at once, so that two names can be swapped.
type renamer []Rename

func (r renamer) to(what Named, in, rail, from string) string {
	for _, x := range r {
		if x.What == what && x.In == in && x.Rail == rail && x.From == from {
			return x.To
		}
	}
	return from
}

// reversed gives the renames that undo these.
func (r renamer) reversed() []Rename {
	out := make([]Rename, len(r))
	for i, x := range r {
		out[i] = x
		out[i].From, out[i].To = x.To, x.From
		switch x.What {
		case NamedRail:
			out[i].In = r.to(NamedBoard, "", "", x.In)
		case NamedTap:
			out[i].In = r.to(NamedBoard, "", "", x.In)
			out[i].Rail = r.to(NamedRail, x.In, "", x.Rail)
		case NamedRange:
			out[i].In = r.to(NamedInstrument, "", "", x.In)
		}
	}
	return out
}

// content renames what an entry of a board refers to.
func (r renamer) content(c Content, board, meter string) Content {
	out := c
	if c.Kind == Step && c.State != "" {
		out.State = r.to(NamedState, "", "", c.State)
	}
	if c.Rail != "" {
		out.Rail = r.to(NamedRail, board, "", c.Rail)
		out.Tap = r.to(NamedTap, board, c.Rail, c.Tap)
	}
	if c.Instrument != "" {
		out.Instrument = r.to(NamedInstrument, "", "", c.Instrument)
		out.Range = r.to(NamedRange, c.Instrument, "", c.Range)
	}
	if c.MeterRange != "" {
		in := c.Meter
		if in == "" {
			in = meter
		}
		out.MeterRange = r.to(NamedRange, in, "", c.MeterRange)
	}
	if c.Meter != "" {
		out.Meter = r.to(NamedInstrument, "", "", c.Meter)
	}
	return out
}

// head renames what a sitting refers to.
func (r renamer) head(h Head) Head {
	h.Board = r.to(NamedBoard, "", "", h.Board)
	for _, m := range []*string{&h.VoltageMeter, &h.CurrentMeter, &h.Thermometer} {
		if *m != "" {
			*m = r.to(NamedInstrument, "", "", *m)
		}
	}
	return h
}

// meterOf says which meter an entry without one was read on, as far as the
// plan and the sitting say.
func meterOf(p *Plan, s *Sitting, c *Content) string {
	switch c.Kind {
	case Voltage:
		return s.VoltageMeter
	case Temperature:
		return s.Thermometer
	case Current, Zero:
		if b := p.Study.Board(s.Board); b != nil {
			if rail := b.Rail(c.Rail); rail != nil {
				if t := rail.Tap(c.Tap); t != nil && t.Meter != "" {
					return t.Meter
				} else if t != nil && t.Kind == study.TapSeries {
					return t.Instrument
				}
			}
		}
	}
	return s.CurrentMeter
}

// whyRenamed is the reason of rows that carry a name along.
const whyRenamed = "renamed in the plan"

// carryNames lets what was recorded follow the renames of a revision, by
// corrections of everything that refers to a renamed thing. before is the plan
// whose names were used.
func (t *tx) carryNames(before *Plan, names renamer, o Origin) error {
	if len(names) == 0 {
		return nil
	}
	o.Key, o.Why = "", whyRenamed
	sittings, err := sittingsNow(t, before.StudyID)
	if err != nil {
		return err
	}
	entries, err := entriesNow(t, before.StudyID)
	if err != nil {
		return err
	}
	of := make(map[int64]*Sitting, len(sittings))
	sc, _ := chainOf(ASitting)
	for i := range sittings {
		x := sittings[i]
		of[x.First] = &sittings[i]
		if h := names.head(x.Head); h != x.Head {
			n := Sitting{Row: Row{First: x.First, Supersedes: x.ID, Origin: o}, Study: x.Study, Head: h}
			if err := sc.insert(t, &n.Row, n.values()...); err != nil {
				return err
			}
		}
	}
	ec, _ := chainOf(AnEntry)
	for _, e := range entries {
		s := of[e.Sitting]
		if s == nil {
			continue // of a sitting that was taken back
		}
		c := names.content(e.Content, s.Board, meterOf(before, s, &e.Content))
		if c.equal(&e.Content) {
			continue
		}
		n := Entry{Row: Row{First: e.First, Supersedes: e.ID, Origin: o}, Study: e.Study, Sitting: e.Sitting, Content: c}
		if err := ec.insert(t, &n.Row, n.values()...); err != nil {
			return err
		}
	}
	if err := t.carryTickNames(before.StudyID, names, o); err != nil {
		return err
	}
	return t.carryPhotoNames(before.StudyID, names, o)
}

// carryPhotoNames does the same for photos and their pins.
func (t *tx) carryPhotoNames(studyID int64, names renamer, o Origin) error {
	photos, err := photosNow(t, studyID)
	if err != nil {
		return err
	}
	pins, err := pinsNow(t, studyID)
	if err != nil {
		return err
	}
	board := make(map[int64]string, len(photos))
	fc, _ := chainOf(APhoto)
	for _, f := range photos {
		board[f.First] = f.Board
		if to := names.to(NamedBoard, "", "", f.Board); to != f.Board {
			n := f
			n.Row, n.Board = Row{First: f.First, Supersedes: f.ID, Origin: o}, to
			if err := fc.insert(t, &n.Row, n.values()...); err != nil {
				return err
			}
		}
	}
	pc, _ := chainOf(APin)
	for _, p := range pins {
		b := board[p.Photo]
		n := p
		if p.Rail != "" {
			n.Rail, n.Tap = names.to(NamedRail, b, "", p.Rail), names.to(NamedTap, b, p.Rail, p.Tap)
		}
		if n.Spot == p.Spot {
			continue
		}
		n.Row = Row{First: p.First, Supersedes: p.ID, Origin: o}
		if err := pc.insert(t, &n.Row, n.values()...); err != nil {
			return err
		}
	}
	return nil
}
