package trace

import "gonum.org/v1/gonum/stat/distuv"

// tQuantile returns the p quantile of Student's t.
func tQuantile(p, dof float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(p)
}

// fQuantile returns the p quantile of Fisher's F.
func fQuantile(p, d1, d2 float64) float64 {
	return distuv.F{D1: d1, D2: d2}.Quantile(p)
}
