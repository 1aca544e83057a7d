package notebook

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"railtally/internal/study"
	"railtally/internal/studyfile/studygen"
)

// TestShelfKeepsInstruments: any sound instrument reads back as the same.
func TestShelfKeepsInstruments(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		for _, in := range studygen.Studies().Draw(t, "study").Instruments {
			text, draft, err := encodeInstrument(in)
			if err != nil {
				t.Fatal(err)
			}
			if draft || !strings.HasPrefix(text, "instruments:\n") {
				t.Fatalf("kept as %s", text)
			}
			back, err := decodeInstrument(text, draft)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(in, back); d != "" {
				t.Fatalf("(-before +after):\n%s\n%s", d, text)
			}
		}
	})
}

func TestShelf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	s := otter(t)
	a := must[Ack](t)(nb.PutInstrument(ctx, s.Instruments[0], Origin{Key: "a"}))
	if again := must[Ack](t)(nb.PutInstrument(ctx, s.Instruments[0], Origin{Key: "a"})); !again.Again || again.ID != a.ID {
		t.Errorf("%+v", again)
	}
	b := must[Ack](t)(nb.PutInstrument(ctx, s.Instruments[2], Origin{}))
	if _, err := nb.PutInstrument(ctx, &study.Instrument{Name: "RED clamp", Kind: study.Clamp}, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("two of one name: %v", err)
	}
	if _, err := nb.PutInstrument(ctx, &study.Instrument{Name: " "}, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("without a name: %v", err)
	}
	// One that is not described yet is a draft, and grows.
	raw := &study.Instrument{Name: "borrowed clamp", Kind: study.Clamp}
	d := must[Ack](t)(nb.PutInstrument(ctx, raw, Origin{}))
	c := must[Ack](t)(nb.CorrectInstrument(ctx, a.ID, s.Instruments[1], Origin{Why: "mixed up"}))
	var conflict *Conflict
	if _, err := nb.CorrectInstrument(ctx, a.ID, s.Instruments[0], Origin{}); !errors.As(err, &conflict) || conflict.Head != c.ID {
		t.Errorf("%v", err)
	}
	must[Ack](t)(nb.Withdraw(ctx, AnInstrument, b.ID, Origin{}))
	shelf := must[[]Shelved](t)(nb.Shelf(ctx))
	if len(shelf) != 2 || shelf[0].Draft || !shelf[1].Draft || shelf[1].ID != d.ID {
		t.Fatalf("%+v", shelf)
	}
	if diff := cmp.Diff(s.Instruments[1], shelf[0].Instrument) + cmp.Diff(raw, shelf[1].Instrument); diff != "" {
		t.Error(diff)
	}
	must[Ack](t)(nb.Undo(ctx, AnInstrument, c.ID, Origin{}))
	if shelf := must[[]Shelved](t)(nb.Shelf(ctx)); shelf[0].Name != "red clamp" {
		t.Errorf("undone to %s", shelf[0].Name)
	}
	sound(t, nb)
}

func TestPhotosAndPins(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	nb := opened(t)
	id, _, step := atBench(t, nb)
	pic := Picture{Type: "image/jpeg", Width: 40, Height: 30, Bytes: []byte("not looked at here")}
	a := must[Ack](t)(nb.AddPhoto(ctx, id, View{Board: "Otter", Side: Front}, pic, Origin{}))
	b := must[Ack](t)(nb.AddPhoto(ctx, id, View{Step: step, Note: "clamp on the link"}, pic, Origin{}))
	photos := must[[]Photo](t)(nb.Photos(ctx, id))
	if len(photos) != 2 || photos[0].Size != int64(len(pic.Bytes)) || photos[0].SHA256 != photos[1].SHA256 || photos[1].Step != step {
		t.Fatalf("%+v", photos)
	}
	if got := must[Picture](t)(nb.PictureOf(ctx, photos[0].SHA256)); cmp.Diff(pic, got) != "" {
		t.Errorf("%+v", got)
	}
	if _, err := nb.PictureOf(ctx, "00"); CodeOf(err) != NotFound {
		t.Errorf("%v", err)
	}
	must[Ack](t)(nb.CorrectPhoto(ctx, a.ID, View{Board: "Otter", Side: Back}, Origin{}))
	must[Ack](t)(nb.Withdraw(ctx, APhoto, b.ID, Origin{}))
	p := must[Ack](t)(nb.AddPin(ctx, a.First, Spot{Number: 1, Role: Opening, Rail: "link", X: 0.25, Y: 1}, Origin{}))
	q := must[Ack](t)(nb.MovePin(ctx, p.ID, Spot{Number: 1, Role: Opening, Rail: "link", X: 0.5, Y: 0, Note: "left of C12"}, Origin{}))
	if _, err := nb.MovePin(ctx, p.ID, Spot{Role: Probe}, Origin{}); CodeOf(err) != Conflicting {
		t.Errorf("%v", err)
	}
	pins := must[[]Pin](t)(nb.Pins(ctx, id))
	if len(pins) != 1 || pins[0].ID != q.ID || pins[0].X != 0.5 || pins[0].Photo != a.First || pins[0].Note == "" {
		t.Errorf("%+v", pins)
	}
	nan := 0.0
	nan /= nan
	for name, s := range map[string]Spot{"outside": {Role: Probe, X: 1.01}, "nowhere": {Role: Probe, Y: nan}, "no role": {}, "below zero": {Role: Probe, Number: -1}} {
		if _, err := nb.AddPin(ctx, a.First, s, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, v := range map[string]View{"of nothing": {}, "no side": {Board: "Otter"}, "no such side": {Board: "Otter", Side: "top"}} {
		if _, err := nb.AddPhoto(ctx, id, v, pic, Origin{}); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := nb.AddPhoto(ctx, id, View{Board: "Otter", Side: Front}, Picture{}, Origin{}); CodeOf(err) != Invalid {
		t.Errorf("no bytes: %v", err)
	}
	sound(t, nb)
}
