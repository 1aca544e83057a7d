package heat

import "math"

const (
	gravity  = 9.80665     // m/s²
	stefan   = 5.670374e-8 // W/(m²·K⁴)
	zeroC    = 273.15      // K
	airGas   = 287.055     // J/(kg·K)
	SeaLevel = 101325.0    // Pa, the standard atmosphere
	coldAir  = 250 - zeroC // °C, range of the property formulas
	hotAir   = 400 - zeroC // °C
	highest  = 5000.0      // m, the highest altitude that is computed
)

// Air is dry air at one temperature and pressure.
type Air struct {
	Density      float64 // kg/m³
	HeatCapacity float64 // J/(kg·K), at constant pressure
	Viscosity    float64 // Pa·s
	Kinematic    float64 // m²/s
	Conductivity float64 // W/(m·K)
	Diffusivity  float64 // m²/s
	Prandtl      float64
	Expansion    float64 // 1/K, that of an ideal gas
}

// AirAt gives the properties of air at a temperature in °C and a pressure in
// Pa: ideal gas, Sutherland's viscosity, and the conductivity and heat capacity
// of the U.S. Standard Atmosphere and its reprints. They agree with the tables
// of Incropera (A.4) within 0.5 % between 250 and 400 K, but for that table's
// density, which is that of 1.000e5 Pa.
func AirAt(celsius, pressure float64) Air {
	t := celsius + zeroC
	root := t * math.Sqrt(t)
	a := Air{
		Density:      pressure / (airGas * t),
		HeatCapacity: 1002.5 + 275e-6*(t-200)*(t-200),
		Viscosity:    1.458e-6 * root / (t + 110.4),
		Conductivity: 2.64638e-3 * root / (t + 245.4*math.Exp(-12*math.Ln10/t)),
		Expansion:    1 / t,
	}
	a.Kinematic = a.Viscosity / a.Density
	a.Diffusivity = a.Conductivity / (a.Density * a.HeatCapacity)
	a.Prandtl = a.Kinematic / a.Diffusivity
	return a
}

// Rayleigh is g·β·ΔT·L³/(ν·α).
func (a Air) Rayleigh(rise, length float64) float64 {
	return gravity * a.Expansion * rise * length * length * length / (a.Kinematic * a.Diffusivity)
}

// PressureAt is the pressure in Pa at an altitude in metres, by the ISO 2533
// standard atmosphere below 11 km: 84556 Pa at 1500 m.
func PressureAt(altitude float64) float64 {
	return SeaLevel * math.Pow(1-2.25577e-5*altitude, 5.25588)
}
