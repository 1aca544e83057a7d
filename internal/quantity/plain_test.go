package quantity

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The plain way gives what the general way gives, to the last bit, or leaves it
// to the general way.
func TestPlainIsTheGeneralWay(t *testing.T) {
	plain := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 1, 2, 3, 10}).Draw(t, "n")
		words := make([]string, n)
		for i := range words {
			words[i] = rapid.OneOf(
				rapid.StringMatching(`-?[0-9]{1,4}(\.[0-9]{1,4})?`),
				rapid.StringMatching(`[-+−]?[0-9]{0,18}[.,]?[0-9]{0,5}(e-?[0-9])?`),
			).Draw(t, "number")
		}
		text := strings.Join(words, rapid.SampledFrom([]string{" ", " ", " ", ", ", "  "}).Draw(t, "between"))
		want := rapid.SampledFrom([]Unit{Volt, Ampere, Celsius, Watt}).Draw(t, "want")
		text += rapid.SampledFrom([]string{" ", " ", " ", "", "  "}).Draw(t, "space") +
			rapid.SampledFrom([]string{"m", "", "µ", "u"}).Draw(t, "prefix") + want.Symbol() +
			rapid.SampledFrom([]string{"", "", "", "x"}).Draw(t, "slip")
		got, ok := parsePlain(text, want)
		if !ok {
			return
		}
		plain++
		general, err := parseGeneral(text, want, "")
		if err != nil {
			t.Fatalf("%q is plain, and the general way says %v", text, err)
		}
		if d := cmp.Diff(general, got); d != "" {
			t.Fatalf("%q (-general +plain):\n%s", text, d)
		}
	})
	if plain == 0 {
		t.Errorf("none of the texts was plain")
	}
	for _, text := range []string{"402.1 mV", "0.951 V", "118.4 118.9 118.6 mV", "-0.3 mV", "5 A"} {
		want := Volt
		if strings.HasSuffix(text, "A") {
			want = Ampere
		}
		if _, ok := parsePlain(text, want); !ok {
			t.Error(fmt.Sprintf("%q takes the general way", text))
		}
	}
}
