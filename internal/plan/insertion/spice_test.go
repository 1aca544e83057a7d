package insertion

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// simulated reads what ngspice made of the circuits in testdata/spice (run by
// scripts/openings-ngspice.sh).
func simulated(t *testing.T) map[string]float64 {
	t.Helper()
	f, err := os.Open("testdata/spice/results.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out := map[string]float64{}
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		w := strings.Fields(lines.Text())
		if len(w) != 3 {
			t.Fatalf("results.txt: %q", lines.Text())
		}
		if out[w[0]+" "+w[1]], err = strconv.ParseFloat(w[2], 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got/want-1) <= within) {
		t.Errorf("%s: %.6g, the simulator has %.6g", what, got, want)
	}
}

// What a sag does to the three kinds of load agrees with a circuit simulator.
func TestSagAgainstSimulator(t *testing.T) {
	sim := simulated(t)
	const nominal, amps, loop = 0.95, 3.0, 0.005
	for _, k := range []struct {
		name string
		n    float64
		i    float64
	}{{"v_current", ConstantCurrent, amps}, {"v_switching", Switching, sim["sag i_switching"]}, {"v_converter", ConverterDownstream, sim["sag i_converter"]}} {
		v := sim["sag "+k.name]
		sag := 1 - v/nominal
		near(t, k.name, k.i*loop/nominal, sag, 1e-4)
		near(t, k.name+": power", nominal*amps*(1+PowerChange(sag, k.n)), v*k.i, 1e-5)
	}
	// The plan works with the drop of the undisturbed current: that is right to the
	// second order of the sag.
	sag := amps * loop / nominal
	near(t, "constant current", nominal*(1-sag), sim["sag v_current"], 1e-6)
	near(t, "switching", nominal*(1-sag), sim["sag v_switching"], 2*sag*sag)
	near(t, "converter", nominal*(1-sag), sim["sag v_converter"], 2*sag*sag)
	near(t, "converter's current", amps/(1-sag), sim["sag i_converter"], 2*sag*sag)
}

// The dip from a step of the load agrees with a circuit simulator: fast and slow
// steps against the ring of loop and capacitor, and without a capacitor.
func TestStepAgainstSimulator(t *testing.T) {
	sim := simulated(t)
	const henries, farads, step = 163e-9, 22e-6, 2.0
	for name, seconds := range map[string]float64{"fast": 10e-9, "middling": 4e-6, "slow": 15e-6} {
		near(t, name, StepDip(henries, farads, step, seconds), -sim[name+" dip"], 0.002)
	}
	near(t, "no capacitor", StepDip(henries, 0, step, 1e-6), -sim["bare dip"], 1e-6)
	hertz, _ := Ring(henries, farads)
	near(t, "ring", 1/hertz, sim["fast down2"]-sim["fast down"], 0.002)
	// With resistance the dip is smaller than that and the steady drop together.
	if most := StepDip(henries, farads, step, 1e-6) + step*0.03; -sim["damped dip"] > most || -sim["damped dip"] < 0.7*most {
		t.Errorf("with 30 mΩ the simulator dips %g V, said to be at most %g V", -sim["damped dip"], most)
	}
}
