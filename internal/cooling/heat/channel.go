package heat

import "math"

// Elenbaas is the channel number g·β·ΔT·s⁴/(ν·α·L) of a gap s between plates
// of height L.
func Elenbaas(a Air, rise, gap, length float64) float64 {
	return a.Rayleigh(rise, gap) * gap / length
}

// NuChannel is the mean Nusselt number, on the gap, of two parallel vertical
// plates of one temperature with air rising between them, referred to the
// temperature of the air that enters: Bar-Cohen and Rohsenow (1984), Cengel
// eq. 9-31. It joins fully developed flow (El/24) to single plates. Range
// 0.1 to 1e5 in El, about ±10 %; tall narrow gaps (El < 5) of small sinks, open
// at the tips, are the least certain.
func NuChannel(el float64) float64 {
	if el <= 0 {
		return 0
	}
	return 1 / math.Sqrt(576/(el*el)+2.873/math.Sqrt(el))
}

// NuFanned is the mean Nusselt number, on the gap, of a channel between plates
// through which air is blown at a speed, referred to the air that enters, whose
// warming it contains: Teertstra, Yovanovich and Culham (1999). Range
// 0.1 < Re* < 100, with Re* = U·s²/(ν·L).
func NuFanned(a Air, speed, gap, length float64) float64 {
	re := ChannelReynolds(a, speed, gap, length)
	if re <= 0 {
		return 0
	}
	developed := re * a.Prandtl / 2
	root := math.Sqrt(re)
	developing := 0.664 * root * math.Cbrt(a.Prandtl) * math.Sqrt(1+3.65/root)
	return 1 / math.Cbrt(1/(developed*developed*developed)+1/(developing*developing*developing))
}

// ChannelReynolds is Re* of [NuFanned].
func ChannelReynolds(a Air, speed, gap, length float64) float64 {
	return speed * gap / a.Kinematic * gap / length
}
