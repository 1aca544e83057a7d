package chart

import "math"

// route is the way of the lanes from their rows to the chip: level, along one
// common slope, level again. Lanes bend one inside the other at equal distance,
// as conductors on a board do.
type route struct {
	chip  float64 // x of the chip's edge
	bend  float64 // leftmost x that a bend may take
	gap   float64 // between lanes at the chip
	angle float64 // of the slope to the level, radians
	down  []*lane // lanes that come from above, outermost first
	up    []*lane // lanes that come from below, outermost first
	ends  map[*lane]float64
	fits  bool // whether no bend lies further left than bend
}

// Slopes that are tried, in degrees: the ordinary one first, and steeper ones
// where the width is not enough.
const (
	ordinarySlope = 45
	steepestSlope = 75
)

// newRoute gives each lane its place at the chip. The widest lane goes straight
// through where the others have room to come to it; else the lanes meet in the
// middle of their rows.
func newRoute(lanes []*lane, chip, bend, gap float64) *route {
	r := &route{chip: chip, bend: bend, gap: gap, fits: true}
	if len(lanes) == 0 {
		return r
	}
	height := stackHeight(lanes, gap)
	straight := 0.0 // top of the stack when the widest lane goes straight
	widest, below := lanes[0], 0.0
	for _, l := range lanes {
		if l.width > widest.width {
			widest = l
		}
	}
	for _, l := range lanes {
		if l == widest {
			straight = l.y - l.width/2 - below
		}
		below += l.width + gap
	}
	first, last := lanes[0], lanes[len(lanes)-1]
	centred := (first.y-first.width/2+last.y+last.width/2)/2 - height/2
	for _, part := range []float64{1, 0.75, 0.5, 0.25, 0} {
		r.place(lanes, centred+part*(straight-centred))
		if r.fits = r.try(ordinarySlope); r.fits {
			return r
		}
	}
	for slope := float64(ordinarySlope) + 5; slope <= steepestSlope; slope += 5 {
		if r.fits = r.try(slope); r.fits {
			return r
		}
	}
	return r
}

func stackHeight(lanes []*lane, gap float64) float64 {
	h := -gap
	for _, l := range lanes {
		h += l.width + gap
	}
	return h
}

// place stacks the lanes' ends from top downwards.
func (r *route) place(lanes []*lane, top float64) {
	r.down, r.up = nil, nil
	for _, l := range lanes {
		l.entry = top + l.width/2
		top += l.width + r.gap
		if math.Abs(l.entry-l.y) < 0.5 {
			l.entry = l.y
		}
	}
	for _, l := range lanes {
		if l.entry > l.y {
			r.down = append(r.down, l)
		}
	}
	for i := len(lanes) - 1; i >= 0; i-- {
		if l := lanes[i]; l.entry < l.y {
			r.up = append(r.up, l)
		}
	}
}

// try lays the bends at a slope in degrees, and reports whether they fit.
func (r *route) try(slope float64) bool {
	r.angle = slope * math.Pi / 180
	r.ends = map[*lane]float64{}
	half := math.Tan(r.angle / 2)
	fits := true
	for _, side := range [][]*lane{r.down, r.up} {
		x := r.chip - r.gap
		for i, l := range side {
			if i == 0 {
				x -= l.width / 2 * half
			} else {
				// So far apart, slopes of equal angle keep their distance.
				x -= ((l.width+side[i-1].width)/2 + r.gap) * half
			}
			r.ends[l] = x
			if r.begin(l)-l.width/2*half < r.bend {
				fits = false
			}
		}
	}
	return fits
}

// begin is the x where a lane leaves its row.
func (r *route) begin(l *lane) float64 {
	return r.ends[l] - math.Abs(l.entry-l.y)/math.Tan(r.angle)
}

// edge returns the points of a line along the lane at a distance below its
// middle (above it when negative), from x0 to the chip. The corners of parallel
// lines lie on the bisectors of the bends.
func (r *route) edge(l *lane, x0, below float64) []point {
	if l.entry == l.y {
		return []point{{x0, l.y + below}, {r.chip, l.y + below}}
	}
	shift := -below * math.Tan(r.angle/2)
	if l.entry < l.y {
		shift = -shift
	}
	return []point{
		{x0, l.y + below}, {math.Max(x0, r.begin(l)+shift), l.y + below},
		{r.ends[l] + shift, l.entry + below}, {r.chip, l.entry + below},
	}
}

// ribbon is the lane's area from x0 to the chip at a width.
func (r *route) ribbon(l *lane, x0, width float64) path {
	pts := r.edge(l, x0, -width/2)
	low := r.edge(l, x0, width/2)
	for i := len(low) - 1; i >= 0; i-- {
		pts = append(pts, low[i])
	}
	return polygon(pts...)
}
