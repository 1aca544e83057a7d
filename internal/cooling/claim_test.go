package cooling

import (
	"math"
	"strings"
	"testing"
	"time"

	"railtally/internal/example"
	"railtally/internal/phrase"
	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/tally"
)

func judged(t *testing.T, s *study.Study, c *study.Claim) *tally.ClaimResult {
	t.Helper()
	s.Claims = []*study.Claim{c}
	tl, err := tally.Run(s, tally.Options{Temperature: Claimed})
	if err != nil {
		t.Fatal(err)
	}
	return tl.Claims[0]
}

// A claim about a predicted temperature is judged with the prediction that the
// cooling gives, and rightly with respect to the virtual bench's truth.
func TestPredictedClaims(t *testing.T) {
	t.Parallel()
	for _, x := range []struct {
		board, point, power, room, below string
		want                             tally.Judgement
		says                             string
	}{
		{"Otter", "case", "", "45 °C", "95 °C", tally.Holds, "is below 95 °C (predicted 88."},
		{"Otter", "case", "", "", "80 °C", tally.Fails, "Not so:"}, // the section on cooling says 45 °C
		{"Otter", "case", "8 W", "23 °C", "77.5 °C", tally.Undecided, "at 8 W in air of 23 °C"},
		{"Otter", "lid", "", "", "95 °C", tally.Undecided, "No temperature called lid was read"},
		{"Otter", "junction", "", "", "95 °C", tally.Undecided, "No temperature called junction"},
		{"Marten", "sink", "", "20 °C", "70 °C", tally.Holds, "predicted 6"},
		{"Otter", "case", "900 W", "", "95 °C", tally.Undecided, "more than 20 times"},
	} {
		s := tallied(t, example.Seed, "").Study
		c := &study.Claim{Kind: study.ClaimPredicted, Point: x.point, Below: entry(t, x.below, quantity.Celsius), Predicted: study.PredictedAt{Board: x.board}}
		if x.power != "" {
			c.Predicted.Power = entry(t, x.power, quantity.Watt)
		}
		if x.room != "" {
			c.Predicted.Room = entry(t, x.room, quantity.Celsius)
		}
		r := judged(t, s, c)
		if r.Judgement != x.want || !strings.Contains(r.Sentence().String(), x.says) {
			t.Errorf("%s; want %s and %q", r.Sentence(), x.want, x.says)
		}
		if r.Known && r.Judgement == tally.Undecided && (len(r.Advice) == 0 || strings.Contains(strings.Join(phrase.Strings(r.Advice), " "), "look into its budget")) {
			t.Errorf("%s: advice %q", r.Sentence(), r.Advice)
		}
		if !r.Known {
			continue
		}
		o := Options{Board: x.board, Power: c.Predicted.Power, Room: c.Predicted.Room}
		cool := run(t, tallied(t, example.Seed, ""), o)
		b := cool.Boards[0]
		want, err := cool.Predict(b.Named(x.point), b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Figure.Estimate-want.Temperature.Estimate) > 1e-9 || math.Abs(r.Figure.Expanded-want.Temperature.Expanded) > 1e-6 {
			t.Errorf("the claim is judged with %g ± %g, predicted are %g ± %g", r.Figure.Estimate, r.Figure.Expanded, want.Temperature.Estimate, want.Temperature.Expanded)
		}
	}
}

// Over many benches a claim that is decided is wrong no more often than its risk.
func TestPredictedClaimsAreRight(t *testing.T) {
	t.Parallel()
	decided, wrong := 0, 0
	for seed := range uint64(8) {
		bench := example.New(seed)
		s := tallied(t, seed, "").Study
		for _, limit := range []string{"84 °C", "87 °C", "88 °C", "89 °C", "90 °C", "93 °C"} {
			c := &study.Claim{Kind: study.ClaimPredicted, Point: "case", Below: entry(t, limit, quantity.Celsius), Predicted: study.PredictedAt{Board: "Otter", Room: entry(t, "45 °C", quantity.Celsius)}}
			r := judged(t, s, c)
			if r.Judgement == tally.Undecided {
				continue
			}
			decided++
			if truth := 45 + bench.TrueRise("case", bench.True("Otter", "four-busy", "")); (truth < c.Below.Value()) != (r.Judgement == tally.Holds) {
				wrong++
			}
		}
	}
	if decided < 20 || float64(wrong) > 0.1*float64(decided) {
		t.Errorf("%d of %d are wrong", wrong, decided)
	}
}

// A claim about a temperature that was read as a series is judged with what the
// series tends to; one that ended too early is not judged.
func TestClaimOfASeries(t *testing.T) {
	for _, x := range []struct {
		minutes int
		want    tally.Judgement
		says    string
	}{{20, tally.Holds, "measured 67."}, {5, tally.Undecided, "settles in"}} {
		s := tallied(t, example.Seed, "").Study
		for _, sit := range s.Sittings {
			if sit.Name != "April" {
				continue
			}
			last := sit.Steps[len(sit.Steps)-1].At
			for i := range x.minutes {
				v := 23.6 + 45*(1-math.Exp(-float64(i+1)/8))
				sit.Steps = append(sit.Steps, &study.Step{At: last.Add(time.Duration(i+1) * time.Minute), State: "four-busy", Temperatures: []*study.Named{{Name: "lid",
					Reading: study.Reading{Entry: *entry(t, quantity.Format(v, quantity.Celsius, 3), quantity.Celsius)}}}})
			}
		}
		c := &study.Claim{Kind: study.ClaimTemperature, First: study.StateOn{Board: "Otter", State: "four-busy"}, Point: "lid", Above: entry(t, "63 °C", quantity.Celsius)}
		if r := judged(t, s, c); r.Judgement != x.want || !strings.Contains(r.Sentence().String(), x.says) {
			t.Errorf("%d min: %s; want %s", x.minutes, r.Sentence(), x.want)
		}
	}
}
