package heat

// Loss is the heat that a sink gives off, by where it leaves, in W.
type Loss struct {
	Fins      float64 // gaps between fins, floors included
	Faces     float64 // faces outside the gaps
	Radiation float64

	HFins, HFaces float64 // W/(m²·K)
	Efficiency    float64 // of the fins
	Apparent      float64 // emissivity of the gaps' mouths
	Elenbaas      float64
	RayleighFace  float64
}

// Total is all heat, in W.
func (l Loss) Total() float64 { return l.Fins + l.Faces + l.Radiation }

// Loss computes what a sink at base temperature t, above its air, gives off.
// The back of its base is taken as covered. The sink must be sound.
//
// Plate fins: the gaps by [NuChannel] (blended with [NuFanned] where there is
// a draught), fins with their efficiency; outer faces, fin tips and base edges
// as plates; radiation of each gap as a cavity, of the rest as plain surface.
func (s Sink) Loss(t float64, in Surroundings) Loss {
	air := AirAt((t+in.Air)/2, in.Pressure)
	if s.Kind == Plate {
		return s.plateLoss(t, in, air)
	}
	rise := t - in.Air
	n, gap := float64(s.Fins), s.Gap()
	l := Loss{Elenbaas: Elenbaas(air, rise, gap, s.Length), RayleighFace: air.Rayleigh(rise, s.Length)}
	derate := s.Stand.derate()

	fanned := 0.0
	if in.Speed > 0 {
		fanned = NuFanned(air, in.Speed, gap, s.Length)
	}
	l.HFins = Blend(derate*NuChannel(l.Elenbaas), fanned) * air.Conductivity / gap
	l.HFaces = s.faceCoefficient(air, l.RayleighFace, derate, in.Speed)

	sides, floors := 2*(n-1)*s.Height*s.Length, (n-1)*gap*s.Length
	mouth, wall := gap*s.Length+2*gap*s.Height, (gap+2*s.Height)*s.Length
	l.Apparent = CavityEmissivity(s.Emissivity, mouth, wall)
	cavities := (n - 1) * mouth * Radiated(l.Apparent, t, in.Walls)
	// Radiation runs down the fins too; its share of the load counts in their
	// efficiency.
	h := l.HFins
	if rise > 0 {
		h += max(0, cavities/rise/(sides+floors))
	}
	l.Efficiency = FinEfficiency(h, s.Conductivity, s.Thickness, s.Height)
	l.Fins = l.HFins * (l.Efficiency*sides + floors) * rise

	outer := 2*s.Length*(s.Height+s.Base) + n*s.Thickness*s.Length
	l.Faces = l.HFaces * outer * rise
	plain := outer + 2*n*s.Thickness*s.Height + 2*s.Width*s.Base
	l.Radiation = cavities + plain*Radiated(s.Emissivity, t, in.Walls)
	return l
}

func (s Sink) faceCoefficient(air Air, ra, derate, speed float64) float64 {
	nu := derate * NuVertical(max(ra, 0), air.Prandtl)
	if speed > 0 {
		nu = Blend(nu, NuForced(speed*s.Length/air.Kinematic, air.Prandtl))
	}
	return nu * air.Conductivity / s.Length
}

// plateLoss is a plain plate: one face and the edges.
func (s Sink) plateLoss(t float64, in Surroundings, air Air) Loss {
	rise := t - in.Air
	area, edges := s.Width*s.Length, 2*(s.Width+s.Length)*s.Base
	length := s.Length
	var l Loss
	if s.Stand == FacingUp || s.Stand == FacingDown {
		length = area / (2 * (s.Width + s.Length))
	}
	if s.Stand == Sideways {
		length = s.Width // it is the width that then stands upright
	}
	l.RayleighFace = air.Rayleigh(rise, length)
	ra := max(l.RayleighFace, 0)
	var nu float64
	switch s.Stand {
	case FacingUp:
		nu = NuUp(ra)
	case FacingDown:
		nu = NuDown(ra)
	default:
		nu = NuVertical(ra, air.Prandtl)
	}
	h := nu * air.Conductivity / length
	if in.Speed > 0 {
		h = Blend(h, NuForced(in.Speed*s.Length/air.Kinematic, air.Prandtl)*air.Conductivity/s.Length)
	}
	l.HFaces, l.Efficiency, l.Apparent = h, 1, s.Emissivity
	l.Faces = h * (area + edges) * rise
	l.Radiation = (area + edges) * Radiated(s.Emissivity, t, in.Walls)
	return l
}
