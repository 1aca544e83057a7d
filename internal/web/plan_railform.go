package web

import (
	"encoding/json"
	"net/url"
	"strconv"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// maxPhases bounds how many taps the form of one rail offers.
const maxPhases = 8

// notOpened is the way to know a rail's current without reading it.
const notOpened = "not opened"

// ways lists how a current can be known with the plan's instruments.
func ways(p *study.Study) []option {
	out := []option{{Label: "not decided yet"}}
	for _, in := range p.Instruments {
		switch in.Kind {
		case study.Clamp:
			for _, r := range in.Ranges {
				out = append(out, option{Value: way(study.TapClamp, in.Name, r.Name), Label: strings.TrimSpace(in.Name + " " + r.Name)})
			}
		case study.Shunt:
			out = append(out, option{Value: way(study.TapShunt, in.Name, ""), Label: in.Name})
		case study.Meter:
			for _, r := range ranges(in, quantity.Ampere) {
				out = append(out, option{Value: way(study.TapSeries, in.Name, r.Name), Label: in.Name + " " + r.Name + ", in series"})
			}
		}
	}
	return append(out,
		option{Value: way(study.TapShunt, "", ""), Label: "a resistor put into the rail"},
		option{Value: way(study.TapSense, "", ""), Label: "a sense resistor on the board"},
		option{Value: way(study.TapInductor, "", ""), Label: "the inductor's own winding"},
		option{Value: notOpened, Label: "not opened: known to stay within bounds"})
}

func way(kind study.TapKind, instrument, rng string) string {
	return listed(string(kind), instrument, rng)
}

// listed writes names as the value of one option, whatever they hold.
func listed(names ...string) string {
	b, err := json.Marshal(names)
	if err != nil {
		return "" // strings always have a JSON
	}
	return string(b)
}

// unlisted reads names back; nil where there are not n of them.
func unlisted(value string, n int) []string {
	var names []string
	if json.Unmarshal([]byte(value), &names) != nil || len(names) != n {
		return nil
	}
	return names
}

func options[T ~string](first string, all []T) []option {
	out := []option{{Label: first}}
	for _, x := range all {
		out = append(out, option{Value: string(x), Label: string(x)})
	}
	return out
}

func railFields(f *form, p *study.Study, b *study.Board, self string) (first, more []field) {
	parents := []option{{Label: "no other rail"}}
	if b != nil {
		for _, r := range b.Rails {
			if r.Name != self {
				parents = append(parents, option{Value: r.Name, Label: r.Name})
			}
		}
	}
	first = []field{
		f.fill(field{Name: "name", Label: "Name of the rail", Required: true, Hint: "core, link, pll a"}),
		f.fill(field{Name: "nominal", Label: "Nominal voltage", Required: true, Hint: "0.95 V ±3 %, or typed as 0.95 V +-3 %"}),
		f.fill(field{Name: "feed", Label: "Opened at", Kind: "select", Options: options("not said", study.Feeds), Hint: "What was lifted, cut or taken out so that the current passes the sensor."}),
		f.fill(field{Name: "converter", Label: "Made by", Kind: "select", Options: options("not said", study.Converters), Hint: "The regulator on the board."}),
	}
	more = []field{
		f.fill(field{Name: "parent", Label: "Hangs on", Kind: "select", Options: parents, Hint: "Another rail whose tap this one's current passes too, so that nothing is counted twice."}),
		f.fill(field{Name: "through", Label: "Through", Kind: "select", Options: options("not said", study.Throughs)}),
		f.fill(field{Name: "efficiency", Label: "Efficiency of the converter between", Hint: "85..92 %"}),
		f.fill(field{Name: "own", Label: "Own current of the regulator between", Hint: "2 mA ±1 mA"}),
		f.fill(field{Name: "others", Label: "Other parts that draw from it", Kind: "area", Rows: 2, Wide: true, Hint: "One on each line: clock chip: 8..14 mA"}),
		f.fill(field{Name: "aside", Label: "does not itself enter the chip: it feeds another rail, or is another part's share", Kind: "check", Wide: true}),
		f.fill(field{Name: "input", Label: "is an input of the board, read as a cross-check and never counted", Kind: "check", Wide: true}),
		f.fill(field{Name: "note", Label: "Note", Wide: true}),
	}
	return first, more
}

func tapFieldsOf(f *form, p *study.Study, i, n int) []field {
	k := "." + strconv.Itoa(i)
	meters := []option{{Label: "the meter that the sitting names"}}
	for _, in := range p.Instruments {
		if in.Kind != study.Meter {
			continue
		}
		for _, r := range ranges(in, quantity.Volt) {
			meters = append(meters, option{Value: listed(in.Name, r.Name), Label: in.Name + " " + r.Name})
		}
		meters = append(meters, option{Value: listed(in.Name, ""), Label: in.Name + ", any range"})
	}
	out := []field{}
	if n > 1 {
		out = append(out, f.fill(field{Name: "phase" + k, Label: "Name of the phase", Required: true, Hint: "left, right"}))
	}
	how := ""
	if len(p.Instruments) == 0 {
		how = "Clamps, shunts and meters stand here once the plan has them."
	}
	out = append(out, f.fill(field{Name: "way" + k, Label: "How its current is read", Kind: "select", Options: ways(p), Hint: how}))
	if i == 0 {
		out = append(out, f.fill(field{Name: "bound", Label: "Current stays within", Hint: "0..5 mA, or <25 mA"}))
	}
	return append(out,
		f.fill(field{Name: "turns" + k, Label: "Turns through the jaw", Mode: "numeric", Hint: "1; more turns read small currents better."}),
		f.fill(field{Name: "loop" + k, Label: "Loop of wire", Hint: "60 mm AWG 20, 60 mm 0.5 mm², or 2.1 mΩ: what the current now passes through."}),
		f.fill(field{Name: "resistor" + k, Label: "Resistance", Hint: "20 mΩ ±1 %"}),
		f.fill(field{Name: "resistorref" + k, Label: "Resistance holds at", Hint: "20 °C, of an inductor's winding"}),
		f.fill(field{Name: "winding" + k, Label: "Winding's temperature while read", Hint: "45 ± 5 °C"}),
		f.fill(field{Name: "meter" + k, Label: "Read by", Kind: "select", Options: meters}),
		f.fill(field{Name: "reversed" + k, Label: "sits the other way round", Kind: "check", Hint: "Readings then come out negative, and are turned round."}),
	)
}

// phases counts the taps that a form holds.
func phases(f *form) int {
	n := 1
	for i := 1; i < maxPhases; i++ {
		k := "." + strconv.Itoa(i)
		if f.Raw("phase"+k) != "" || f.Raw("way"+k) != "" {
			n = i + 1
		}
	}
	return n
}

// railValues fills the form of a rail.
func railValues(r *study.Rail, input bool) url.Values {
	v := url.Values{}
	v.Set("name", r.Name)
	v.Set("nominal", entryText(&r.Nominal))
	v.Set("feed", string(r.Feed))
	v.Set("converter", string(r.Converter))
	v.Set("note", r.Note)
	if r.Bound != nil {
		v.Set("bound", entryText(r.Bound))
		v.Set("way.0", notOpened)
	}
	if r.Aside {
		v.Set("aside", "yes")
	}
	if input {
		v.Set("input", "yes")
	}
	if s := r.From; s != nil {
		v.Set("parent", s.Rail)
		v.Set("through", string(s.Through))
		v.Set("efficiency", entryText(s.Efficiency))
		v.Set("own", entryText(s.Own))
	}
	var lines []string
	for _, o := range r.Others {
		lines = append(lines, o.Part+": "+entryText(&o.Draws))
	}
	v.Set("others", strings.Join(lines, "\n"))
	for i, t := range r.Taps {
		tapValues(v, "."+strconv.Itoa(i), t)
	}
	openingValues(v, r)
	return v
}

func tapValues(v url.Values, k string, t *study.Tap) {
	v.Set("phase"+k, t.Name)
	v.Set("way"+k, way(t.Kind, t.Instrument, t.Range))
	v.Set("turns"+k, strconv.Itoa(max(t.Turns, 1)))
	if t.Reversed {
		v.Set("reversed"+k, "yes")
	}
	if t.Resistor != nil {
		v.Set("resistor"+k, entryText(&t.Resistor.Resistance))
	}
	if t.Kind == study.TapInductor {
		v.Set("resistorref"+k, quantity.Format(t.WindingRef, quantity.Celsius, 4))
	}
	if t.Winding != nil {
		v.Set("winding"+k, entryText(t.Winding))
	}
	if t.Loop != nil {
		v.Set("loop"+k, t.Loop.String())
	}
	if t.Meter != "" {
		v.Set("meter"+k, listed(t.Meter, t.MeterRange))
	}
}

// readRail understands the form of a rail; what is wrong is noted beside its
// field. What the form does not ask for stays as it was in the old one.
func readRail(f *form, old *study.Rail) (rail *study.Rail, input bool) {
	rail = new(*old)
	rail.Name, rail.Feed, rail.Converter = f.Text("name", true), study.Feed(f.Raw("feed")), study.Converter(f.Raw("converter"))
	rail.Aside, rail.Note = f.Checked("aside"), f.Text("note", false)
	rail.Taps, rail.Bound, rail.From, rail.Others = nil, nil, nil, nil
	if e := written(f.Quantity("nominal", quantity.Volt, "V")); e != nil {
		rail.Nominal = *e
	} else {
		f.Fault("nominal", "a rail has a nominal voltage", "0.95 V ±3 %")
	}
	if f.Raw("way.0") == notOpened {
		if rail.Bound = written(f.Quantity("bound", quantity.Ampere, "mA")); rail.Bound == nil {
			f.Fault("bound", "between which currents does it stay?", "0..5 mA, or <25 mA")
		}
	} else {
		n := phases(f)
		for i := range n {
			if t := readTap(f, "."+strconv.Itoa(i), n, old.Taps[min(i, len(old.Taps)):]); t != nil {
				rail.Taps = append(rail.Taps, t)
			}
		}
	}
	if parent := f.Raw("parent"); parent != "" {
		rail.From = &study.Supply{}
		if old.From != nil {
			*rail.From = *old.From
		}
		rail.From.Rail, rail.From.Through = parent, study.Through(f.Raw("through"))
		rail.From.Efficiency, rail.From.Own = written(f.Quantity("efficiency", quantity.None, "%")), written(f.Quantity("own", quantity.Ampere, "mA"))
		if rail.From.Through == "" {
			f.Fault("through", "what stands between the two?", "wire, linear or converter")
		}
	}
	for line := range strings.Lines(f.Raw("others")) {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		part, draws, found := strings.Cut(line, ":")
		e, err := quantity.Parse(strings.TrimSpace(draws), quantity.Ampere, "mA")
		switch {
		case !found:
			f.Fault("others", "what does "+line+" draw?", line+": 8..14 mA")
		case err != nil:
			f.Wrong("others", err)
		default:
			rail.Others = append(rail.Others, &study.Other{Part: strings.TrimSpace(part), Draws: *written(&e)})
		}
	}
	rail.Opening = readOpening(f, rail.Feed)
	return rail, f.Checked("input")
}

// readTap reads one tap; was begins with the one that stood in its place.
func readTap(f *form, k string, n int, was []*study.Tap) *study.Tap {
	parts := unlisted(f.Raw("way"+k), 3)
	if parts == nil {
		return nil
	}
	t := &study.Tap{}
	if len(was) > 0 && string(was[0].Kind) == parts[0] {
		t = new(*was[0])
	}
	old := t.Resistor
	t.Kind, t.Instrument, t.Range, t.Turns, t.Reversed = study.TapKind(parts[0]), parts[1], parts[2], 1, f.Checked("reversed"+k)
	t.Name, t.Loop, t.Resistor, t.Winding, t.Meter, t.MeterRange = "", nil, nil, nil, "", ""
	if n > 1 {
		t.Name = f.Text("phase"+k, true)
	}
	if text := f.Text("turns"+k, false); text != "" && t.Kind == study.TapClamp {
		turns, err := strconv.Atoi(strings.Trim(text, "×x "))
		if err != nil || turns < 1 || turns > 1000 {
			f.Fault("turns"+k, "this is no number of turns", "1, 5, ×5")
		}
		t.Turns = turns
	}
	if text := f.Text("loop"+k, false); text != "" {
		wire, err := quantity.ParseWire(text)
		if err != nil {
			f.Wrong("loop"+k, err)
		}
		t.Loop = &wire
	}
	if t.Instrument == "" {
		t.Resistor = &study.ShuntValue{}
		if old != nil {
			*t.Resistor = *old // how it answers to temperature
		}
		if e := written(f.Quantity("resistor"+k, quantity.Ohm, "mΩ")); e != nil {
			t.Resistor.Resistance = *e
		} else {
			f.Fault("resistor"+k, "the resistance is needed", "20 mΩ ±1 %")
		}
	}
	if t.Kind == study.TapInductor {
		t.WindingRef = 20
		if e := f.Quantity("resistorref"+k, quantity.Celsius, "°C"); e != nil {
			t.WindingRef = e.Value()
		}
		t.Winding = written(f.Quantity("winding"+k, quantity.Celsius, "°C"))
	}
	if m := unlisted(f.Raw("meter"+k), 2); m != nil && t.Kind != study.TapSeries {
		t.Meter, t.MeterRange = m[0], m[1]
	}
	return t
}
