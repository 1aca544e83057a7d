package heat

import "math"

// Other formulas for the same things, as witnesses: nothing but tests uses them.

// nuVerticalAll is NuVertical for every Rayleigh number up to 1e12, laminar or
// turbulent: Churchill and Chu (1975), Incropera eq. 9.26. For plates as small
// as a chip's sink [NuVertical] is the better of the two.
func nuVerticalAll(ra, pr float64) float64 {
	x := 0.825 + 0.387*math.Pow(ra, 1.0/6)/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 8.0/27)
	return x * x
}

// nuElenbaas is Elenbaas's own form (1942; Incropera eq. 9.45), an independent
// witness: the two agree within 5 % from El 0.1 to 1e4.
func nuElenbaas(el float64) float64 {
	return el / 24 * math.Pow(1-math.Exp(-35/el), 0.75)
}

// bestGap is the gap at which thin plates of one temperature on a given base
// give off most heat: 2.714·L/Ra^¼ on the height L (Bar-Cohen and Rohsenow
// 1984).
func bestGap(a Air, rise, length float64) float64 {
	return 2.714 * length / math.Pow(a.Rayleigh(rise, length), 0.25)
}

// leeSpreading gives the mean and the largest spreading resistance in K/W of a
// source on a plate, by the closed form of Lee, Song, Au and Moran (1995) for
// discs of equal area. h is the plate's far side. It reads 2 to 8 % low for
// squares and is not to be trusted for long narrow bases.
func leeSpreading(source, base, thickness, conductivity, h float64) (mean, peak float64) {
	a, b := math.Sqrt(source/math.Pi), math.Sqrt(base/math.Pi)
	e, tau, bi := a/b, thickness/b, h*b/conductivity
	lam := math.Pi + 1/(math.Sqrt(math.Pi)*e)
	th := math.Tanh(lam * tau)
	phi := (th + lam/bi) / (1 + lam/bi*th)
	k := conductivity * a
	return 0.5 * math.Pow(1-e, 1.5) * phi / (math.Sqrt(math.Pi) * k), (1 - e) * phi / (math.Pi * k)
}

// besselScaled gives I0, I1, K0 and K1 of x > 0 by their power series for small
// and their defining integrals for larger arguments (Abramowitz and Stegun
// 9.6.10–13, 9.6.19, 9.6.24). Both come scaled, I by e^−x and K by e^x.
func besselScaled(x float64) (i0, i1, k0, k1 float64) {
	// The trapezoidal rule converges geometrically on these integrands.
	const n = 64
	for j := 0; j <= n; j++ {
		w := 1.0
		if j == 0 || j == n {
			w = 0.5
		}
		c := math.Cos(math.Pi * float64(j) / n)
		e := w / n * math.Exp(x*(c-1))
		i0 += e
		i1 += e * c
	}
	// K_ν(x)·e^x = ∫ exp(−x(cosh t − 1)) cosh νt dt; the integrand is below
	// 1e-16 where cosh t − 1 = 37/x.
	top := math.Acosh(1 + 37/x)
	const m = 200
	dt := top / m
	for j := 0; j <= m; j++ {
		w := dt
		if j == 0 || j == m {
			w = dt / 2
		}
		c := math.Cosh(float64(j) * dt)
		e := w * math.Exp(-x*(c-1))
		k0 += e
		k1 += e * c
	}
	return i0, i1, k0, k1
}

// discResistance is the thermal resistance in K/W from a disc of radius r1
// through a sheet of radius r2 to the air at both faces: sheet is the in-plane
// conductance Σk·t in W/K, h the coefficient of both faces together. It is the
// round fin of Incropera section 3.6.4. For a rectangular board it reads 15 to
// 20 % low.
func discResistance(r1, r2, sheet, h float64) float64 {
	m := math.Sqrt(h / sheet)
	i01, i11, k01, k11 := besselScaled(m * r1)
	_, i12, _, k12 := besselScaled(m * r2)
	// Scaled functions leave e^(±m(r2−r1)) in the cross products.
	e := math.Exp(-2 * m * (r2 - r1))
	c := (i12*k11 - e*i11*k12) / (e*i01*k12 + k01*i12)
	return 1 / (2*math.Pi*r1*sheet*m*c + h*math.Pi*r1*r1)
}
