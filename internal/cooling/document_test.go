package cooling

import (
	"bytes"
	"encoding/json"
	"testing"
)

// The JSON form holds what was computed, can be written whatever was found, and
// reads back as itself.
func TestDocument(t *testing.T) {
	c, b := otter(t, Options{})
	tr := try(t, c, b, Change{})
	d, err := c.Document(map[string]*Trial{"Otter": tr})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	var again Document
	if err := json.Unmarshal(text, &again); err != nil {
		t.Fatal(err)
	}
	twice, err := json.Marshal(again)
	if err != nil || !bytes.Equal(text, twice) {
		t.Errorf("changed on its way: %v", err)
	}
	x := d.Boards[0]
	pr, err := c.Predict(b.Named("case"), b.Ask.Power, b.Ask.Room, b.Ask.Pressure)
	if err != nil {
		t.Fatal(err)
	}
	if x.Points[0].Prediction.Temperature.Value != pr.Temperature.Estimate || *x.Points[0].Prediction.Probability != pr.Probability {
		t.Errorf("%+v", x.Points[0].Prediction)
	}
	if x.Trial == nil || x.Model == nil || !x.Model.Calibrated || len(x.Path.Rungs) != 4 || len(x.Answers) < 4 || len(x.Points[0].Readings) != 7 {
		t.Errorf("%s", text)
	}
	s := c.TrialSentences(b, tr)
	if len(s) != 3 {
		t.Errorf("%q", s)
	}
}
