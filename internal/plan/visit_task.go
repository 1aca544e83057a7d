package plan

import (
	"fmt"
	"slices"
	"strings"

	"railtally/internal/quantity"
	"railtally/internal/study"
)

// task says what is to be done at a halt of a sitting.
func (x visit) task() Task {
	t := Task{At: x.At - x.Takes, Takes: x.Takes, State: x.State}
	if names := x.puts(); len(names) > 0 {
		t.Text = "Put " + quantity.Join(names) + ". "
	}
	if x.State == "" {
		for i, tap := range x.Zeros {
			name := sensorPlain(tap)
			if tap.Kind != study.TapClamp {
				name = x.ZeroOf[i].Name
			}
			t.Zeros, t.Fields = append(t.Zeros, name), append(t.Fields, "zero of "+name)
		}
		if len(t.Zeros) > 0 {
			t.Text += "Take zeros of " + quantity.Join(t.Zeros) + ", jaws closed where they will sit, without current."
		}
		t.Cautions = []Caution{CautionOverload}
		return t
	}
	for _, k := range x.Off {
		t.Text += fmt.Sprintf("Power off, take %s off %s again. ", asWritten(k.Resistance), k.Rail)
	}
	for _, k := range x.On {
		t.Text += fmt.Sprintf("Power off, put %s across %s behind its loop. ", asWritten(k.Resistance), k.Rail)
		t.Proof = "known-load"
	}
	if len(x.On)+len(x.Off) > 0 {
		t.Cautions = inOrder(append(t.Cautions, CautionPowerOff, CautionKnownLoad, CautionHot))
	}
	if x.Fresh {
		t.Text += fmt.Sprintf("Set the board to %s and let it settle. ", x.State)
	}
	var read []string
	for _, r := range x.Rails {
		t.Rails = append(t.Rails, r.Name)
		for _, tap := range r.Taps {
			if tap.Name != "" {
				t.Fields = append(t.Fields, r.Name+" "+tap.Name+": i")
			} else {
				t.Fields = append(t.Fields, r.Name+": i")
			}
		}
		t.Fields = append(t.Fields, r.Name+": v")
		name := r.Name
		if phases := sharedClamp(r); len(phases) > 1 {
			name += " (its clamp first on " + strings.Join(phases, ", then on ") + ")"
		}
		read = append(read, name)
	}
	t.Text += "Read " + quantity.Join(read) + "."
	if x.Again {
		t.Proof = "drift"
		t.Text += " It was read first: what it has changed by has drifted."
	}
	return t
}

// puts names the clamps that are put on before, each with its rail.
func (x visit) puts() (names []string) {
	for _, r := range x.Mount {
		for i, tap := range r.Taps {
			if tap.Kind == study.TapClamp && !slices.ContainsFunc(r.Taps[:i], func(o *study.Tap) bool { return o.Kind == tap.Kind && o.Instrument == tap.Instrument }) {
				name := sensorPlain(tap) + " on " + r.Name
				if tap.Name != "" {
					name += " " + tap.Name
				}
				if r.Checks != "" {
					name += " (" + r.Checks + " once more, " + passes(tap) + ")"
				}
				names = append(names, name)
			}
		}
	}
	return names
}

// sharedClamp lists the phases of a rail that one clamp reads one after another.
func sharedClamp(r *study.Rail) (phases []string) {
	for i, t := range r.Taps {
		for j, o := range r.Taps {
			if i != j && t.Kind == study.TapClamp && o.Kind == study.TapClamp && o.Instrument == t.Instrument {
				phases = append(phases, t.Name)
				break
			}
		}
	}
	return phases
}

// passes says how often a wire goes through the jaw.
func passes(t *study.Tap) string {
	if t.Turns > 1 {
		return fmt.Sprintf("%d turns", t.Turns)
	}
	return "one turn"
}

// often says how many times a current goes through a jaw.
func often(turns int) string {
	if turns <= 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", turns)
}
