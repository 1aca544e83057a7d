package heat

import "math"

// NuVertical is the mean Nusselt number of a vertical plate of one
// temperature, on its height, in laminar natural convection: Churchill and Chu
// (1975), Incropera eq. 9.27. Range Ra ≤ 1e9, any Prandtl number; ±10 to 15 %.
func NuVertical(ra, pr float64) float64 {
	return 0.68 + 0.670*math.Sqrt(math.Sqrt(ra))/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 4.0/9)
}

// NuUp is the mean Nusselt number of a hot horizontal plate facing up, on the
// length area/perimeter. McAdams's constants with that length (Lloyd and Moran
// 1974; Incropera eq. 9.30, 9.31) from Ra 1e4 to 1e11, the switch at 1e7; below
// that Goldstein, Sparrow and Jones (1973), from memory, ±20 %. Where one formula
// ends above the next, its last value is held until the next has caught up, so
// that a warmer plate never gives off less.
func NuUp(ra float64) float64 {
	root := math.Sqrt(math.Sqrt(ra))
	switch {
	case ra < 200:
		return 0.96 * math.Pow(ra, 1.0/6)
	case ra < 1e4:
		return math.Max(0.96*2.4183, 0.59*root) // 200^(1/6)
	case ra < 1e7:
		return math.Max(0.59*10, 0.54*root)
	}
	return 0.15 * math.Cbrt(ra)
}

// NuDown is that of a hot plate facing down: 0.27·Ra^¼ (Incropera 6th ed.
// eq. 9.32), range 1e5 to 1e10, used below it for want of better.
func NuDown(ra float64) float64 { return 0.27 * math.Sqrt(math.Sqrt(ra)) }

// NuForced is the mean Nusselt number of a flat plate in laminar flow along it,
// on its length: 0.664·Re^½·Pr^⅓, Re < 5e5, Pr ≥ 0.6 (Incropera eq. 7.30).
func NuForced(re, pr float64) float64 { return 0.664 * math.Sqrt(re) * math.Cbrt(pr) }

// Blend joins natural and forced convection that help each other:
// (natural³ + forced³)^⅓ (Cengel eq. 9-66, n = 3 for vertical surfaces). A
// draught that blows against the rising air does less, and may do harm.
func Blend(natural, forced float64) float64 {
	if forced == 0 {
		return natural
	}
	return math.Cbrt(natural*natural*natural + forced*forced*forced)
}
