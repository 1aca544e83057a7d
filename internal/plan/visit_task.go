package plan

import (
	"fmt"

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
	for _, r := range x.Rails {
		t.Rails = append(t.Rails, r.Name)
		t.Fields = append(t.Fields, r.Name+": i", r.Name+": v")
	}
	t.Text += "Read " + quantity.Join(t.Rails) + "."
	if x.Again {
		t.Proof = "drift"
		t.Text += " It was read first: what it has changed by has drifted."
	}
	return t
}

// puts names the clamps that are put on before, each with its rail.
func (x visit) puts() (names []string) {
	for _, r := range x.Mount {
		for _, tap := range r.Taps {
			if tap.Kind == study.TapClamp {
				name := sensorPlain(tap) + " on " + r.Name
				if r.Checks != "" {
					name += " (" + r.Checks + " once more, " + passes(tap) + ")"
				}
				names = append(names, name)
			}
		}
	}
	return names
}

// passes says how often a wire goes through the jaw.
func passes(t *study.Tap) string {
	if t.Turns > 1 {
		return fmt.Sprintf("%d turns", t.Turns)
	}
	return "one turn"
}
