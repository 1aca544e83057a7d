package notebook

import (
	"testing"

	"railtally/internal/study"
)

// FuzzDraft: whatever stands in a row, reading it as a draft ends with a plan or
// an error, and a plan that was read can be kept again as the same.
func FuzzDraft(f *testing.F) {
	text, _, err := encodePlan(&study.Study{Question: "q"})
	if err != nil {
		f.Fatal(err)
	}
	whole, err := encodeDraft(otter(f))
	if err != nil {
		f.Fatal(err)
	}
	for _, seed := range []string{text, whole, "", "{}", `{"units":[""],"value":{"EqualWithin":{"Unit":255}}}`, `{"units":null,"value":[]}`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := decodePlan(text, true)
		if err != nil {
			return
		}
		s.Sittings, s.Done = nil, nil // a plan has neither
		again, draft, err := encodePlan(s)
		if err != nil {
			return // JSON holds no plan that it does not read back as the same
		}
		if back, err := decodePlan(again, draft); err != nil || !alike(s, back) {
			t.Errorf("kept as %s: %v", again, err)
		}
	})
}
