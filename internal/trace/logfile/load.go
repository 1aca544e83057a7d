package logfile

import (
	"context"
	"fmt"
	"io"
	"slices"

	"railtally/internal/trace"
)

// A Log is a log in memory.
type Log struct {
	Summary *Summary
	Series  []*trace.Series // of the channels with samples, times in order
}

// Load imports a whole log into memory: 8 bytes for each value and each time. Rows out of order are
// sorted by time; the summary still tells of them.
func Load(ctx context.Context, r io.Reader, p *Profile, opt Options) (*Log, error) {
	c := &collector{}
	sum, err := Import(ctx, r, p, opt, c)
	if sum == nil {
		return nil, err
	}
	log := &Log{Summary: sum}
	shared := p.Layout != Long
	if shared && len(c.t) > 0 {
		trace.SortByTime(c.t[0], c.v...)
	}
	for k := range c.v {
		t := c.t[0]
		if !shared {
			t = c.t[k]
			trace.SortByTime(t, c.v[k])
		}
		ch := c.channels[k]
		s, serr := trace.NewSeries(ch.Name, ch.Unit, t, c.v[k])
		if serr != nil {
			return log, fmt.Errorf("import: %w", serr)
		}
		s.Origin = sum.Start
		log.Series = append(log.Series, s)
	}
	return log, err
}

// A collector keeps all samples.
type collector struct {
	channels []Channel
	t, v     [][]float64
}

func (c *collector) Take(b *Batch) error {
	c.channels = b.Channels
	for len(c.v) < len(b.Channels) {
		c.v, c.t = append(c.v, nil), append(c.t, nil)
	}
	for k, p := range b.Parts {
		c.v[p.Channel] = append(c.v[p.Channel], p.V...)
		if k == 0 || len(p.T) > 0 && &p.T[0] != &b.Parts[0].T[0] {
			c.t[p.Channel] = append(c.t[p.Channel], p.T...)
		}
	}
	return nil
}

// Channel returns the series with a name, nil when there is none.
func (l *Log) Channel(name string) *trace.Series {
	if k := slices.IndexFunc(l.Series, func(s *trace.Series) bool { return s.Name == name }); k >= 0 {
		return l.Series[k]
	}
	return nil
}
