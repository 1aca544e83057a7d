package notebook

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"railtally/internal/quantity"
	"railtally/internal/trace"
)

// A Clock says how the clock of another trace of the study is brought to that of the trace whose mapping holds it: add
// Offset to its times. Times of either count from its own zero.
type Clock struct {
	Trace  int64   `json:"trace"`
	Offset float64 `json:"offset"` // seconds
	U      float64 `json:"u"`      // standard uncertainty
	Method string  `json:"method"` // "cross-correlation", "common mark", "offset given"
}

// Alignment is the same for trace.Alignment.Join.
func (c Clock) Alignment() trace.Alignment {
	return trace.Alignment{Offset: c.Offset, U: c.U, Method: c.Method}
}

// Clocks returns how the clocks of other traces are brought to that of a trace, whichever of the two it was kept with.
// Traces that count no more are left out.
func (nb *Notebook) Clocks(ctx context.Context, x *Trace) (out []Clock, err error) {
	err = nb.read(ctx, "read the clocks", func(q querier) error {
		rows, err := q.query("SELECT "+mappingColumns+` FROM mapping t WHERE t.study = ? AND t.id = (SELECT max(id) FROM mapping WHERE trace = t.trace)
			ORDER BY t.trace`, x.Study)
		if err != nil {
			return err
		}
		defer rows.Close()
		counts := map[int64]bool{}
		for rows.Next() {
			m, err := scanMapping(rows.Scan)
			if err != nil {
				return err
			}
			counts[m.Trace] = !m.Withdrawn
			if m.Trace == x.ID {
				out = append(out, m.Clocks...)
				continue
			}
			for _, c := range m.Clocks {
				if c.Trace == x.ID {
					out = append(out, Clock{Trace: m.Trace, Offset: -c.Offset, U: c.U, Method: c.Method})
				}
			}
		}
		out = slices.DeleteFunc(out, func(c Clock) bool { return !counts[c.Trace] })
		return rows.Err()
	})
	return out, err
}

// AlignTrace keeps how the clock of another trace of the study is brought to that of a trace, in place of what was
// kept before. id is the mapping's row that holds now. With forget the other trace has a clock of its own again.
func (nb *Notebook) AlignTrace(ctx context.Context, id int64, c Clock, forget bool, o Origin) (Ack, error) {
	const op = "align the trace"
	if _, err := trace.ByOffset(c.Offset, c.U); err != nil {
		return Ack{}, invalid(op, "%w", err)
	}
	return nb.remap(ctx, op, id, o, func(t *tx, x Trace, m *Mapping) error {
		other, err := traceByID(t, c.Trace)
		if err != nil {
			return err
		}
		if other.Study != x.Study || other.ID == x.ID {
			return invalid(op, "trace %d is not another trace of the same study", c.Trace)
		}
		without := func(list []Clock, id int64) []Clock {
			return slices.DeleteFunc(slices.Clone(list), func(have Clock) bool { return have.Trace == id })
		}
		m.Clocks = without(m.Clocks, c.Trace)
		if !forget {
			m.Clocks = append(m.Clocks, c)
		}
		// What the other trace's row says of the same two is out of date.
		if back := without(other.Mapping.Clocks, x.ID); len(back) < len(other.Mapping.Clocks) {
			n := other.Mapping
			n.Row, n.Clocks = Row{First: n.First, Supersedes: n.ID, Origin: Origin{Device: o.Device, Who: o.Who, Why: o.Why}}, back
			values, err := n.values()
			if err != nil {
				return err
			}
			chain, _ := chainOf(AMapping)
			return chain.insert(t, &n.Row, values...)
		}
		return nil
	})
}

// guess is what would bring the clock of b to that of a before anything is known of either: the difference of their
// zeros where both are known and the records then overlap, otherwise what lets them begin together.
func guess(a, b *Trace, sa, sb *trace.Series) float64 {
	if !a.Zero.IsZero() && !b.Zero.IsZero() && a.Zone == b.Zone {
		g := b.Zero.Sub(a.Zero).Seconds()
		if sb.T[0]+g < sa.T[sa.Len()-1] && sb.T[sb.Len()-1]+g > sa.T[0] {
			return g
		}
	}
	return sa.T[0] - sb.T[0]
}

// correlateFrom is how many samples of each a shift is sought in at most; more are averaged.
const correlateFrom = 1 << 18

// CorrelateTraces finds by cross-correlation how the clock of channel cb of trace b is brought to that of channel ca of
// trace a: within reach seconds of what their zeros say, or of a common beginning where those say nothing; 0: half
// the shorter record.
func (nb *Notebook) CorrelateTraces(ctx context.Context, a int64, ca int, b int64, cb int, reach float64) (al trace.Alignment, err error) {
	x, sa, err := nb.wholeChannel(ctx, a, ca, correlateFrom)
	if err != nil {
		return al, err
	}
	y, sb, err := nb.wholeChannel(ctx, b, cb, correlateFrom)
	if err != nil {
		return al, err
	}
	g := guess(&x, &y, sa, sb)
	if al, err = trace.ByCorrelation(sa, sb.Shift(g), trace.CorrelateOptions{MaxLag: reach}); err != nil {
		return al, invalid("align the trace", "%w", err)
	}
	al.Offset += g
	if rate, u, ok := al.RunApart(sa, sb); ok && math.Abs(rate) > 3*u {
		al.Warnings = append(al.Warnings, fmt.Sprintf("the clocks run apart: the first half alone gives another shift than the second, by %.2g ± %.2g s in a minute; align shorter records", 60*rate, 60*u))
	}
	return al, nil
}

func (nb *Notebook) wholeChannel(ctx context.Context, id int64, channel, most int) (Trace, *trace.Series, error) {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return x, nil, err
	}
	s, err := nb.TraceSamples(ctx, id, []int{channel}, -math.MaxFloat64, math.MaxFloat64, most)
	if err != nil {
		return x, nil, err
	}
	return x, s.Series[0], nil
}

// JoinTraces multiplies channel ca of trace a and channel cb of trace b, brought to a's clock, over from ≤ t ≤ to of that
// clock. A window of more than MaxSamples of either is refused: means of neighbours would lose what the two have
// together within them.
func (nb *Notebook) JoinTraces(ctx context.Context, a int64, ca int, b int64, cb int, al trace.Alignment, from, to float64) (*trace.Joint, error) {
	const op = "join the traces"
	sa, err := nb.TraceSamples(ctx, a, []int{ca}, from, to, 0)
	if err != nil {
		return nil, err
	}
	margin := 4 * al.U
	sb, err := nb.TraceSamples(ctx, b, []int{cb}, from-al.Offset-margin, to-al.Offset+margin, 0)
	if err != nil {
		return nil, err
	}
	if sa.Averaged > 1 || sb.Averaged > 1 {
		return nil, invalid(op, "the window holds more than %d samples: choose a shorter one", MaxSamples)
	}
	j, err := al.Join(sa.Series[0], sb.Series[0], from, to)
	if err != nil {
		return nil, invalid(op, "%w", err)
	}
	return j, nil
}

// voltageElsewhere finds the voltage of a current's rail in a trace whose clock is known.
func (nb *Notebook) voltageElsewhere(ctx context.Context, x *Trace, r ChannelRole) (y Trace, channel int, c Clock, ok bool, err error) {
	if r.Is != Current {
		return y, 0, c, false, nil
	}
	clocks, err := nb.Clocks(ctx, x)
	if err != nil {
		return y, 0, c, false, err
	}
	for _, c := range clocks {
		y, err := nb.Trace(ctx, c.Trace)
		if err != nil {
			return y, 0, c, false, err
		}
		for _, v := range y.Mapping.Roles {
			if v.Is == Voltage && v.Rail == r.Rail {
				return y, v.Channel, c, true, nil
			}
		}
	}
	return y, 0, c, false, nil
}

// withElsewhere fills in what a current has together with a voltage of another trace.
func (nb *Notebook) withElsewhere(ctx context.Context, x *Trace, w *WindowReading, from, to float64) error {
	y, v, c, ok, err := nb.voltageElsewhere(ctx, x, w.Role)
	if err != nil || !ok {
		return err
	}
	j, err := nb.JoinTraces(ctx, x.ID, w.Channel, y.ID, v, c.Alignment(), from, to)
	if err != nil {
		if CodeOf(err) == Invalid { // no overlap, an overload, too long: the reading stands without it
			w.Unjoined = fmt.Sprintf("%s was not used: %v", y.Mapping.Name, errors.Unwrap(err))
			return nil
		}
		return err
	}
	if j.Share != nil {
		s := *j.Share
		s.U = j.UShare()
		w.Share, w.With = &s, y.Mapping.Name
	}
	return nil
}

// StepAt is the time between samples of a channel about a time of the trace.
func (nb *Notebook) StepAt(ctx context.Context, id int64, channel int, at float64) (float64, error) {
	const few = 1 << 12
	whole, err := nb.TraceView(ctx, id, channel, -math.MaxFloat64/4, math.MaxFloat64/4, 1)
	if err != nil {
		return 0, err
	}
	if len(whole) == 0 || at < whole[0].From || at > whole[0].To {
		return 0, invalid("find the mark", "the trace has no sample at %g s", at)
	}
	span := whole[0].To - whole[0].From
	reach := span
	if n := whole[0].N + whole[0].Odd; n > few {
		reach = span * few / float64(n)
	}
	s, err := nb.TraceSamples(ctx, id, []int{channel}, at-reach, at+reach, 0)
	if err != nil {
		return 0, err
	}
	return s.Series[0].Step(), nil
}

// OffsetU is the standard uncertainty of an offset as it was written: of limits that of a rectangular distribution, of
// "(k=2)" the half-width over k; without a tolerance that of the last digit.
func OffsetU(e quantity.Entry) (float64, error) {
	t := e.Tol
	switch {
	case t == nil:
		return e.Step / math.Sqrt(12), nil
	case t.Level > 0 || t.Plus != t.Minus:
		return 0, fmt.Errorf("%q: accepted are limits as in \"2.2 ± 0.1 s\" or a coverage factor as in \"2.2 ± 0.1 s (k=2)\"", e.Text)
	case t.K > 0:
		return t.Plus / t.K, nil
	}
	return t.Plus / math.Sqrt(3), nil
}
