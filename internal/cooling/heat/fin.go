package heat

import "math"

// FinEfficiency is that of a straight fin of constant thickness: tanh(mLc)/(mLc)
// with m = √(2h/(k·t)) and the corrected height Lc = height + t/2, which stands
// for its tip (Incropera table 3.5).
func FinEfficiency(h, conductivity, thickness, height float64) float64 {
	x := math.Sqrt(2*h/(conductivity*thickness)) * (height + thickness/2)
	if x < 1e-6 {
		return 1
	}
	return math.Tanh(x) / x
}
