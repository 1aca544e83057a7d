package quantity_test

import (
	"errors"
	"fmt"

	"railtally/internal/quantity"
)

func ExampleParse() {
	for _, text := range []string{"511", "0,511 V", "509 511 512", "10..50", "1.8 V ±2 %", "9.6 mA"} {
		e, err := quantity.Parse(text, quantity.Volt, "mV")
		var wrong *quantity.Error
		if errors.As(err, &wrong) {
			fmt.Printf("%v; accepted: %s\n", wrong, wrong.Accept)
			continue
		}
		fmt.Printf("%s: %v of %s\n", e.Kind, e, e.Unit)
	}
	// Output:
	// single: 511 mV of voltage
	// single: 511 mV of voltage
	// repeats: 509, 511, 512 mV of voltage
	// band: 10..50 mV of voltage
	// single: 1.8 ± 0.036 V of voltage
	// 9.6 mA is a current; a voltage is wanted here, at character 1 of "9.6 mA"; accepted: V, mV, µV, kV
}

func ExampleScale() {
	p := quantity.Scale(quantity.Watt, 0.41, 6.68, 1.2)
	for _, w := range []float64{0.41, 6.68, 1.2} {
		fmt.Println(p.FormatU(w, 0.031))
	}
	// Output:
	// 0.410 ± 0.031 W
	// 6.680 ± 0.031 W
	// 1.200 ± 0.031 W
}
