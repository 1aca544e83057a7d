package notebook

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"railtally/internal/quantity"
	"railtally/internal/study"
	"railtally/internal/trace"
)

// A WindowReading is what one channel of a trace tells over a window.
type WindowReading struct {
	Of      *Trace // the trace that was asked for, or one whose clock is brought to its
	Channel int
	Role    ChannelRole // Is is empty where the channel is nothing of the board
	// Stats are the statistics of the samples, or of means of Averaged of them in a row where there are very
	// many; its Moments are exact all the same.
	Stats    *trace.Stats
	Averaged int
	// Share is what the mean of v·i exceeds the product of the means by, as a part of that product, of a current
	// whose rail's voltage was sampled with it or logged in a trace whose clock is known; nil otherwise. Its U holds what
	// the clocks add.
	Share *trace.Stats
	// With is the name of the other trace that the voltage is in; Unjoined says why it could not be used.
	With, Unjoined string
	// Content is the entry that it becomes; its kind is empty where it cannot be one, and Why says why.
	Content Content
	Why     string
}

// Ch is the channel that was read.
func (r *WindowReading) Ch() Channel { return r.Of.Channels[r.Channel] }

// ReadWindow takes the statistics of every channel over from ≤ t ≤ to, and writes them as entries of a
// sitting: the mean with its standard uncertainty, which respects that samples repeat each other, and with its
// degrees of freedom. Channels without a sample there are left out. Behind them come those channels of traces whose
// clocks are brought to this one's that are something of the board which no channel here is.
func (nb *Notebook) ReadWindow(ctx context.Context, id int64, from, to float64) ([]WindowReading, error) {
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return nil, err
	}
	if !(from < to) {
		return nil, invalid("take the window", "from %g s to %g s: the end must be later", from, to)
	}
	var out []WindowReading
	taken := map[ChannelRole]bool{}
	add := func(of *Trace, k int, from, to float64) error {
		r, err := nb.readChannel(ctx, of, k, from, to)
		if err != nil || r == nil {
			return err
		}
		r.Role.Channel = 0
		taken[r.Role] = true
		r.Role.Channel = k
		out = append(out, *r)
		return nil
	}
	for k := range x.Channels {
		if err := add(&x, k, from, to); err != nil {
			return nil, err
		}
	}
	clocks, err := nb.Clocks(ctx, &x)
	if err != nil {
		return nil, err
	}
	for _, c := range clocks {
		y, err := nb.Trace(ctx, c.Trace)
		if err != nil {
			return nil, err
		}
		for _, r := range y.Mapping.Roles {
			k := r.Channel
			r.Channel = 0
			if taken[r] {
				continue
			}
			if err := add(&y, k, from-c.Offset, to-c.Offset); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// readChannel does so for one channel; nil where it has no sample there.
func (nb *Notebook) readChannel(ctx context.Context, x *Trace, k int, from, to float64) (*WindowReading, error) {
	exact, err := nb.TraceStats(ctx, x.ID, k, from, to)
	if err != nil || exact.Samples() == 0 {
		return nil, err
	}
	r := &WindowReading{Of: x, Channel: k}
	r.Role, _ = x.Mapping.Role(k)
	if exact.N > 0 {
		with := []int{k}
		if v, ok := x.voltageWith(r.Role); ok {
			with = append(with, v)
		}
		s, err := nb.TraceSamples(ctx, x.ID, with, from, to, 0)
		if err != nil {
			return nil, err
		}
		if r.Stats, err = trace.Summarise(s.Series[0]); err != nil {
			return nil, err
		}
		r.Averaged = s.Averaged
		if s.Averaged > 1 {
			// Means of neighbours keep the mean and its uncertainty, and nothing else.
			r.Stats.UNaive = exact.SD() / math.Sqrt(float64(exact.N))
		}
		r.Stats.Moments = exact.Moments
		if len(with) == 2 {
			r.Share = share(s.Series[1], s.Series[0])
		} else if err := nb.withElsewhere(ctx, x, r, from, to); err != nil {
			return nil, err
		}
	}
	r.write(x, from, to)
	return r, nil
}

// voltageWith finds the voltage that was sampled together with a current.
func (x *Trace) voltageWith(r ChannelRole) (int, bool) {
	if r.Is != Current {
		return 0, false
	}
	for _, v := range x.Mapping.Roles {
		if v.Is == Voltage && v.Rail == r.Rail && x.Channels[v.Channel].Clock == x.Channels[r.Channel].Clock {
			return v.Channel, true
		}
	}
	return 0, false
}

// share is (v−v̄)(i−ī)/(v̄ī), sample by sample: its mean is the covariance as a part of the product of the
// means, which no scale of either changes. It is nil where that is no part of anything.
func share(v, i *trace.Series) *trace.Stats {
	p := trace.Series{Name: "v·i", Unit: quantity.None, Origin: v.Origin, T: v.T, V: make([]float64, len(v.V))}
	vm, im := trace.MomentsOf(v.V).Mean(), trace.MomentsOf(i.V).Mean()
	if vm*im == 0 || vm != vm || im != im {
		return nil
	}
	for k := range p.V {
		p.V[k] = (v.V[k] - vm) * (i.V[k] - im) / (vm * im)
		if p.V[k]-p.V[k] != 0 {
			p.V[k] = math.NaN()
		}
	}
	s, err := trace.Summarise(&p)
	if err != nil {
		return nil
	}
	return s
}

// write makes an entry of a reading.
func (r *WindowReading) write(x *Trace, from, to float64) {
	ch := x.Channels[r.Channel]
	switch {
	case r.Role.Is == "":
		r.Why = "the channel is nothing of the board"
		return
	case r.Stats == nil:
		r.Why = "no sample is a number"
		return
	case r.Stats.Overloads() > 0:
		r.Why = fmt.Sprintf("%d samples are beyond the meter's range, so the mean would be biased", r.Stats.Overloads())
		return
	}
	got := r.Stats.Reading()
	got.N = int(r.Stats.N)
	cut := ""
	if p := r.Stats.Period; p != nil && p.Bias > got.U/2 {
		got.U, got.DOF = withRectangle(got.U, got.DOF, p.Bias)
		cut = fmt.Sprintf("; unfinished period of %s s, up to %s", shortly(p.Seconds), quantity.Format(p.Bias, ch.Unit, 2))
	}
	c := Content{Kind: r.Role.Is, Rail: r.Role.Rail, Tap: r.Role.Tap, Name: r.Role.Name, Unit: ch.Unit}
	c.Text = meanText(got.Mean, got.U, got.DOF, ch.Unit)
	c.From = fmt.Sprintf("%s, %s, %s s to %s s: %d samples worth %.0f", x.Mapping.Name, ch.Name, seconds(from), seconds(to), got.N, got.Neff) + cut
	if r.Share != nil {
		c.WithVoltage = shareText(r.Share)
	}
	if err := c.fault(); err != nil {
		r.Why = err.Error()
		return
	}
	r.Content = c
}

// withRectangle adds an error between ±half, rectangular, to a standard uncertainty: root of the sum of
// squares, and degrees of freedom by Welch and Satterthwaite (JCGM 100 G.4), the rectangle's without limit.
func withRectangle(u, dof, half float64) (float64, float64) {
	all := math.Hypot(u, half/math.Sqrt(3))
	if u == 0 {
		return all, mostDOF
	}
	return all, dof * math.Pow(all/u, 4)
}

// shortly writes a number to three digits.
func shortly(x float64) string { return strconv.FormatFloat(x, 'g', 3, 64) }

// cutShort tells what a window that is shorter than two periods of a load that the study knows of, so that the
// samples alone do not show it, may be off by: its samples' whole range stands for the swing.
func (r *WindowReading) cutShort(x *Trace, from, to float64, c *study.Cycle) {
	if r.Stats == nil || r.Content.Kind != Current && r.Content.Kind != Voltage {
		return
	}
	lo, hi := c.Seconds()
	if p := r.Stats.Period; p != nil && to-from > 2*lo && p.Seconds > lo/2 && p.Seconds < 2*hi {
		return // the samples show it, and write has counted it
	}
	most := trace.CutShort(to-from, lo, hi) * (r.Stats.Max - r.Stats.Min)
	if !(most > r.Stats.U/2) {
		return
	}
	ch := x.Channels[r.Channel]
	got := r.Stats.Reading()
	u, dof := withRectangle(got.U, got.DOF, most)
	r.Content.Text = meanText(got.Mean, u, dof, ch.Unit)
	r.Content.From += fmt.Sprintf("; shorter than whole periods of the load, %s, up to %s", c.Period.String(), quantity.Format(most, ch.Unit, 2))
}

// seconds writes a time to a microsecond at most.
func seconds(t float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(t, 'f', 6, 64), "0"), ".")
}

// mostDOF is as many degrees of freedom as are written; beyond it a t is a normal distribution.
const mostDOF = 9999

func dofText(dof float64) string {
	return strconv.FormatFloat(math.Floor(10*min(max(dof, 1), mostDOF))/10, 'f', -1, 64)
}

// meanText writes a mean as an entry: "412.051 ± 0.012 mV (k=1, 85 dof)". Where all samples were
// alike nothing but the last digit is unknown, and the mean alone is written.
func meanText(mean, u, dof float64, unit quantity.Unit) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return quantity.Format(mean, unit, 6)
	}
	return fmt.Sprintf("%s (k=1, %s dof)", quantity.FormatU(mean, u, unit), dofText(dof))
}

// shareText writes a part; empty where it is nothing at all.
func shareText(s *trace.Stats) string {
	r, u := 100*s.Mean(), 100*s.U
	if !(u > 0) || math.IsInf(u, 0) || math.Abs(r)+u < 1e-6 {
		return ""
	}
	digits := max(0, 1-int(math.Floor(math.Log10(u))))
	return fmt.Sprintf("(%s ± %s) %% (k=1, %s dof)", strconv.FormatFloat(r, 'f', digits, 64), strconv.FormatFloat(u, 'f', digits, 64), dofText(s.Correlation.DOF))
}

// A Place says where the readings of a window go.
type Place struct {
	Sitting int64 // its first row
	State   string
	// Zone is that of the clock on the bench's wall, to time the step by a trace whose zero is an instant; nil:
	// such a step is not timed.
	Zone *time.Location
	// Channels are those to take; nil: all that are something of the board.
	Channels []int
}

// TakeWindow opens a step of a sitting and keeps the readings of a window in it, all or none. It fails where a
// channel that is asked for cannot be a reading.
func (nb *Notebook) TakeWindow(ctx context.Context, id int64, from, to float64, p Place, o Origin) ([]Ack, error) {
	const op = "take the window"
	x, err := nb.Trace(ctx, id)
	if err != nil {
		return nil, err
	}
	list, err := nb.ReadWindow(ctx, id, from, to)
	if err != nil {
		return nil, err
	}
	if o.Key == "" {
		if o.Key, err = nb.key(); err != nil {
			return nil, err
		}
	}
	sitting, err := nb.sittingOf(ctx, p.Sitting)
	if err != nil {
		return nil, err
	}
	if sitting.Study != x.Study {
		return nil, invalid(op, "the sitting is of another study")
	}
	plan, err := nb.Plan(ctx, x.Study)
	if err != nil {
		return nil, err
	}
	if st := plan.Study.State(p.State); st != nil && st.Cycle != nil {
		for i := range list {
			list[i].cutShort(&x, from, to, st.Cycle)
		}
	}
	drafts := []Draft{{Sitting: p.Sitting, Origin: o, Content: Content{Kind: Step, State: p.State, At: x.wall((from+to)/2, p.Zone, sitting.On)}}}
	for _, r := range list {
		if p.Channels == nil && r.Role.Is == "" || p.Channels != nil && (r.Of.ID != id || !slices.Contains(p.Channels, r.Channel)) {
			continue
		}
		if r.Content.Kind == "" {
			return nil, invalid(op, "%s: %s", r.Ch().Name, r.Why)
		}
		own := o
		own.Key = fmt.Sprintf("%s-%d", o.Key, r.Channel)
		if r.Of.ID != id {
			own.Key = fmt.Sprintf("%s-%d-%d", o.Key, r.Of.ID, r.Channel)
		}
		drafts = append(drafts, Draft{Sitting: p.Sitting, StepKey: o.Key, Origin: own, Content: r.Content})
	}
	if len(drafts) == 1 {
		return nil, invalid(op, "no channel of the trace is something of the board; say what they are first")
	}
	return nb.AppendAll(ctx, drafts)
}

// wall is what the clock on the wall showed at a time of the trace; zero where that is not known, or more
// than a day from the sitting's beginning.
func (x *Trace) wall(t float64, zone *time.Location, began time.Time) time.Time {
	if x.Zero.IsZero() || x.Zone && zone == nil {
		return time.Time{}
	}
	at := x.Zero.Add(time.Duration(t * float64(time.Second))).Truncate(time.Second)
	if x.Zone {
		l := at.In(zone)
		at = time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), l.Second(), 0, time.UTC)
	}
	if d := at.Sub(began); d < -24*time.Hour || d > 24*time.Hour {
		return time.Time{}
	}
	return at
}

func (nb *Notebook) sittingOf(ctx context.Context, first int64) (x Sitting, err error) {
	err = nb.read(ctx, "read the sitting", func(q querier) error {
		x, err = sittingNow(q, first)
		return err
	})
	return x, err
}
