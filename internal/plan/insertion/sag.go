package insertion

import "math"

// SagShare is the part of a rail's tolerance band that an insertion may take:
// a fifth (common practice, no source).
const SagShare = 0.2

// How the current of a load answers to its voltage: P ∝ Vⁿ.
const (
	ConverterDownstream = 0.0 // takes the same power, and more current
	ConstantCurrent     = 1.0 // linear regulators, current sources
	Switching           = 2.0 // CMOS at a fixed clock, resistors
)

// PowerChange is the relative change of a load's power when its voltage falls by
// a part sag: (1 − sag)ⁿ − 1.
func PowerChange(sag, n float64) float64 { return math.Pow(1-sag, n) - 1 }

// WindingGain is by how much a regulator overestimates its current when it
// senses over its inductor's winding and a resistance lies between the taps of
// that sensing.
func WindingGain(winding, added float64) float64 { return (winding + added) / winding }

// ProductExcess is by how much, in watts, the product of a mean voltage and a
// mean current is too high when the voltage droops by r ohms times a current of
// that variance: ⟨V·I⟩ = ⟨V⟩⟨I⟩ − r·var(I).
func ProductExcess(r, variance float64) float64 { return r * variance }
