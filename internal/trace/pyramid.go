package trace

import (
	"fmt"
	"math"
)

// A Pyramid is a series with statistics of ever longer runs of it, so that a view of any width
// costs its pixels and the statistics of any window cost a few hundred samples, not all of them.
// Buckets of level 0 hold 64 samples each, those of each further level 8 of the level below.
type Pyramid struct {
	series *Series
	levels [][]Moments
}

const (
	pyramidBase = 64
	pyramidFan  = 8
)

// NewPyramid summarises s, which must not change afterwards.
func NewPyramid(s *Series) *Pyramid {
	p := &Pyramid{series: s}
	n := (len(s.V) + pyramidBase - 1) / pyramidBase
	level := make([]Moments, n)
	for i := range level {
		level[i] = MomentsOf(s.V[i*pyramidBase : min((i+1)*pyramidBase, len(s.V))])
	}
	p.levels = append(p.levels, level)
	for len(level) > 1 {
		next := make([]Moments, (len(level)+pyramidFan-1)/pyramidFan)
		for i := range next {
			for _, m := range level[i*pyramidFan : min((i+1)*pyramidFan, len(level))] {
				next[i].Merge(m)
			}
		}
		p.levels = append(p.levels, next)
		level = next
	}
	return p
}

// Series returns what the pyramid was built from.
func (p *Pyramid) Series() *Series { return p.series }

// Levels returns the statistics of each level, finest first, for storage.
func (p *Pyramid) Levels() [][]Moments { return p.levels }

// Moments returns the exact statistics of samples from ≤ i < to.
func (p *Pyramid) Moments(from, to int) (Moments, error) {
	if from < 0 || to > len(p.series.V) || from > to {
		return Moments{}, fmt.Errorf("samples %d to %d of %d", from, to, len(p.series.V))
	}
	return p.moments(from, to), nil
}

// moments walks from left to right and takes the largest bucket that starts here and ends within.
func (p *Pyramid) moments(from, to int) Moments {
	var m Moments
	for from < to {
		level, size := -1, 1
		next := pyramidBase
		for l := 0; l < len(p.levels) && from%next == 0 && from+next <= to; l++ {
			level, size = l, next
			next *= pyramidFan
		}
		if level >= 0 {
			m.Merge(p.levels[level][from/size])
			from += size
			continue
		}
		end := min((from/pyramidBase+1)*pyramidBase, to)
		m.Merge(MomentsOf(p.series.V[from:end]))
		from = end
	}
	return m
}

// A Pixel is what one column of a plot shows.
type Pixel struct {
	From, To float64 // times of its first and last sample
	Moments
}

// View returns at most width pixels over the times from..to, each with the statistics of the samples
// in it. Pixels without a sample (gaps) are left out. Where a pixel holds many samples its edges are moved
// to those of buckets, by an eighth of a pixel at most; no sample is left out or counted twice.
func (p *Pyramid) View(from, to float64, width int) ([]Pixel, error) {
	if width < 1 || !(from < to) || math.IsInf(to-from, 0) {
		return nil, fmt.Errorf("view of %d pixels from %g s to %g s", width, from, to)
	}
	s := p.series
	pixels := make([]Pixel, 0, width)
	i := s.Index(from)
	edge := 1
	for next, room := pyramidBase, (s.Index(to)-i)/width/8; next <= room; next *= pyramidFan {
		edge = next
	}
	for k := 1; k <= width && i < len(s.T); k++ {
		j := s.Index(from + (to-from)*float64(k)/float64(width))
		if j = max(j-j%edge, i); k == width {
			j = s.Index(to)
			for j < len(s.T) && s.T[j] <= to {
				j++ // the end belongs to the view
			}
		}
		if j > i {
			pixels = append(pixels, Pixel{From: s.T[i], To: s.T[j-1], Moments: p.moments(i, j)})
			i = j
		}
	}
	return pixels, nil
}
