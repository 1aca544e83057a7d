package insertion

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"railtally/internal/quantity"
)

type check struct {
	ID, Formula, Unit string
	Inputs            map[string]any
	Result            float64
	Tol               float64 `json:"rel_tol"`
}

func (c check) in(key string) float64 { x, _ := c.Inputs[key].(float64); return x }

// area of the gauge, or of the radius or diameter, that a check is about.
func (c check) area() float64 {
	switch {
	case c.Inputs["awg"] != nil:
		return quantity.GaugeArea(int(c.in("awg")))
	case c.Inputs["area_cmil"] != nil:
		return c.in("area_cmil") * circularMil
	case c.Inputs["d_mm"] != nil:
		return math.Pi / 4 * math.Pow(c.in("d_mm")/1e3, 2)
	}
	return math.Pi * math.Pow(c.in("a_mm")/1e3, 2)
}

func load(t *testing.T, name string) []check {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct{ Checks []check }
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Checks
}

// compute evaluates a check with this package; ok is false for checks of what
// this package does not compute.
func compute(c check) (got float64, ok bool) {
	switch id := c.ID; {
	case strings.HasSuffix(id, "_d"):
		return Diameter(c.area()) * 1e3, true
	case strings.HasSuffix(id, "_r20"):
		return Resistance(1000, c.area(), 20), true
	case strings.HasPrefix(id, "cu_factor"):
		return CopperFactor(c.in("T_C")), true
	case strings.HasPrefix(id, "preece"):
		return Preece(c.area()), true
	case strings.HasPrefix(id, "onderdonk"):
		return Onderdonk(c.area(), c.in("t_s"), c.in("Ta_C")), true
	case id == "rosa_2mm_1mm" || strings.HasPrefix(id, "straight"):
		return Straight(c.in("l_mm")/1e3, c.area()) * 1e9, true
	case strings.HasPrefix(id, "circle"):
		return Circle(c.in("R_mm")/1e3, c.area()) * 1e9, true
	case strings.HasPrefix(id, "rect"):
		return Rectangle(c.in("b_mm")/1e3, c.in("d_mm")/1e3, c.area()) * 1e9, true
	case strings.HasPrefix(id, "pair"):
		return Pair(c.in("D_mm")/1e3, c.area()) * 1e9 / 1e3, true
	case strings.HasPrefix(id, "midrise"):
		return HeldEndsRise(c.in("I_A"), c.in("L_mm")/1e3, c.area()), true

	case id == "sag_22_100_5":
		return c.in("I_A") * Resistance(c.in("l_mm")/1e3, c.area(), 20) * 1e3, true
	case id == "sag_pct":
		return 100 * c.in("I_A") * Resistance(c.in("l_mm")/1e3, c.area(), 20) / c.in("V"), true
	case id == "sag_power_n2":
		return -100 * PowerChange(c.in("s"), Switching), true
	case strings.HasPrefix(id, "ldi"):
		return Kick(c.in("L_nH")/1e9, c.in("A_per_us")*1e6) * 1e3, true
	case strings.HasPrefix(id, "f0_"):
		f, _ := Ring(c.in("L_nH")/1e9, c.in("C_uF")/1e6)
		return f / 1e3, true
	case strings.HasPrefix(id, "z0_"):
		_, z := Ring(c.in("L_nH")/1e9, c.in("C_uF")/1e6)
		return z * 1e3, true
	case strings.HasPrefix(id, "ripple"):
		return Ripple(c.in("Vin"), c.in("Vo"), c.in("fs_kHz")*1e3, c.in("L_uH")/1e6), true
	case strings.HasPrefix(id, "excess"):
		return ProductExcess(c.in("R_ohm"), c.in("var")), true
	case id == "shuntP":
		return ResistorRise(c.in("I_A"), c.in("R_mohm")/1e3, 1), true
	case id == "dcr_gain":
		return WindingGain(c.in("DCR_mohm"), c.in("loop_mohm")), true
	case id == "dcr_ocp":
		return c.in("Ilim_A") / WindingGain(1, 5), true
	case id == "neighbour":
		return NeighbourField(c.in("I_A"), c.in("d_mm")/1e3) * 1e6, true
	case strings.HasPrefix(id, "coreL"):
		return ClampCore(int(c.in("N"))) * 1e9, true
	}
	return 0, false
}

// Worked values of the formulas; sources in testdata/SOURCES.md.
func TestWorkedValues(t *testing.T) {
	done := 0
	for _, name := range []string{"wire-checks.json", "insertion-checks.json"} {
		for _, c := range load(t, name) {
			got, ok := compute(c)
			if !ok {
				continue
			}
			done++
			if math.Abs(got-c.Result) > c.Tol*math.Abs(c.Result) {
				t.Errorf("%s (%s): %.7g %s, want %.7g", c.ID, c.Formula, got, c.Unit, c.Result)
			}
		}
	}
	if done < 93 { // all 67 of wire and 26 of insertion; the rest is about sampling and cross-checks
		t.Errorf("only %d worked values were computed", done)
	}
}

func table(t *testing.T, name string) (head map[string]int, rows [][]string) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	head = map[string]int{}
	for i, h := range all[0] {
		head[h] = i
	}
	return head, all[1:]
}

func cell(t *testing.T, row []string, i int) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[i], 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Two published gauge tables (testdata/SOURCES.md) agree with the formula within
// 0.04 % and within the last of three digits.
func TestGaugeTables(t *testing.T) {
	head, rows := table(t, "wire.csv")
	if len(rows) != 31 {
		t.Fatalf("%d gauges", len(rows))
	}
	for _, row := range rows {
		g := int(cell(t, row, head["awg"]))
		r := Resistance(1000, quantity.GaugeArea(g), 20)
		if a := cell(t, row, head["pubA_ohm_per_km"]); math.Abs(r/a-1) > 0.0004 {
			t.Errorf("AWG %d: %.5g Ω/km, published %.5g", g, r, a)
		}
		if b := cell(t, row, head["pubB_ohm_per_km_3digits"]); math.Abs(r/b-1) > 0.005 {
			t.Errorf("AWG %d: %.5g Ω/km, published %.3g", g, r, b)
		}
	}
}

// IEC 60228 states resistance, not copper: its class 1 limit lies 4 to 8 % above
// ρ/A, its class 5 limit 10 to 16 %.
func TestStandardSections(t *testing.T) {
	head, rows := table(t, "wire-iec60228.csv")
	for _, row := range rows {
		a := cell(t, row, head["nominal_mm2"]) * 1e-6
		r := Resistance(1000, a, 20)
		for col, lim := range map[string][2]float64{
			"class1_solid_plain_max_ohm_per_km_20C": {1.04, 1.08}, "class5_flexible_plain": {1.10, 1.16},
		} {
			if got := cell(t, row, head[col]) / r; got < lim[0] || got > lim[1] {
				t.Errorf("%g mm²: %s is %.3f of ρ/A", a*1e6, col, got)
			}
		}
	}
}

// Long bare wires in still air of 25 °C (testdata/SOURCES.md); air's properties
// differ a little between tables, hence 3 %.
func TestStillAir(t *testing.T) {
	for _, c := range []struct {
		gauge      int
		amps, want float64
	}{{18, 10, 28.7}, {20, 5, 13.0}, {22, 3, 8.3}, {22, 5, 21.8}, {22, 7, 42.1}, {24, 3.5, 18.4}, {26, 2.2, 12.5}, {28, 1, 4.6}, {30, 0.86, 5.6}} {
		if got := StillAirRise(c.amps, quantity.GaugeArea(c.gauge)); math.Abs(got-c.want) > 0.03*c.want {
			t.Errorf("AWG %d at %g A: %.2f K, want %.1f", c.gauge, c.amps, got, c.want)
		}
	}
}
