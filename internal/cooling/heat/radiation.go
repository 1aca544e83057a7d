package heat

// Radiated is the heat in W/m² that a small grey surface at t loses to
// surroundings at tsur, both in °C: ε·σ·(T⁴ − Tsur⁴).
func Radiated(emissivity, t, tsur float64) float64 {
	a, b := t+zeroC, tsur+zeroC
	a, b = a*a, b*b
	return emissivity * stefan * (a*a - b*b)
}

// CavityEmissivity is what the mouth of a gap between fins radiates, against a
// black mouth: 1/(1 + (opening/wall)·(1/ε − 1)), the two-surface enclosure
// whose walls have one temperature and one radiosity. Inter-fin shading is in
// it: walls that see each other only warm each other.
func CavityEmissivity(emissivity, opening, wall float64) float64 {
	return 1 / (1 + opening/wall*(1/emissivity-1))
}
