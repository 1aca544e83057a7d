package plan

import (
	"slices"
	"time"

	"railtally/internal/study"
)

// visit is one halt of a sitting: zeros, or the readings of some rails in one
// state. A sitting's visits are both what is predicted from and what the person
// at the bench is told to do.
type visit struct {
	At     time.Duration // end of the visit, since the sitting began
	Takes  time.Duration
	Zeros  []*study.Tap // whose sensors are zeroed; each with its rail in ZeroOf
	ZeroOf []*study.Rail
	State  string // empty at zeros
	Fresh  bool   // the state is set anew here
	Rails  []*study.Rail
	Mount  []*study.Rail      // whose clamps are put on before
	Again  bool               // the first rail, read once more at the end
	On     []*study.KnownLoad // put on before, and taken off
	Off    []*study.KnownLoad
}

// rounds groups a board's rails so that each clamp sits on one of them at a
// time. Rails with a sensor of their own come in the first round.
func rounds(b *study.Board) [][]*study.Rail {
	next := map[string]int{}
	var out [][]*study.Rail
	put := func(k int, r *study.Rail) {
		for len(out) <= k {
			out = append(out, nil)
		}
		out[k] = append(out[k], r)
	}
	for _, r := range slices.Concat(b.Rails, b.Inputs) {
		if len(r.Taps) == 0 {
			continue
		}
		k := 0
		for _, t := range r.Taps {
			if t.Kind == study.TapClamp {
				k = max(k, next[t.Instrument])
			}
		}
		for _, t := range r.Taps {
			if t.Kind == study.TapClamp {
				next[t.Instrument] = k + 1
			}
		}
		put(k, r)
	}
	return out
}

// clocked builds visits and keeps the time.
type clocked struct {
	board  string
	scheme Scheme
	now    time.Duration
	list   []visit
	set    string // the state that the board is in
	loads  []*study.KnownLoad
}

func (c *clocked) add(v visit) {
	c.now += v.Takes
	v.At = c.now
	c.list = append(c.list, v)
}

// zero adds a visit that zeroes what the rails are read with; each clamp's range
// once, and each resistor.
func (c *clocked) zero(rails []*study.Rail, mount []*study.Rail) {
	v := visit{Takes: c.scheme.Times.Zero + time.Duration(clamps(mount))*c.scheme.Times.Mount, Mount: mount}
	seen := map[[2]string]bool{}
	for _, r := range rails {
		for _, t := range r.Taps {
			k := [2]string{t.Instrument, t.Range}
			switch {
			case t.Kind == study.TapSeries, c.scheme.BothWays[[2]string{c.board + "/" + r.Name, t.Name}]:
				continue
			case t.Kind == study.TapClamp && seen[k]:
				continue
			}
			seen[k] = true
			v.Zeros, v.ZeroOf = append(v.Zeros, t), append(v.ZeroOf, r)
		}
	}
	if len(v.Zeros) > 0 || len(mount) > 0 {
		c.add(v)
	}
}

// clamps counts the clamps that sit on rails.
func clamps(rails []*study.Rail) (n int) {
	for _, r := range rails {
		for _, t := range r.Taps {
			if t.Kind == study.TapClamp {
				n++
			}
		}
	}
	return n
}

// read adds the readings of some rails in a state.
func (c *clocked) read(state string, rails []*study.Rail, mount []*study.Rail, again bool) {
	v := visit{State: state, Rails: rails, Again: again, Mount: mount, Takes: time.Duration(clamps(mount)) * c.scheme.Times.Mount}
	if c.set != state {
		for _, k := range c.loads {
			switch {
			case k.Board != c.board:
			case k.With == state:
				v.On = append(v.On, k)
			case k.With == c.set:
				v.Off = append(v.Off, k)
			}
		}
		v.Fresh, c.set = true, state
		v.Takes += c.scheme.Times.State + c.scheme.Times.Settle + time.Duration(len(v.On)+len(v.Off))*c.scheme.Times.Mount
	}
	for _, r := range rails {
		// A clamp that several phases share moves in every state.
		v.Takes += time.Duration(max(0, len(sharedClamp(r))-1)) * c.scheme.Times.Mount
		for _, t := range r.Taps {
			v.Takes += c.scheme.Times.Reading + time.Duration(c.scheme.Repeats-1)*c.scheme.Times.Repeat
			if c.scheme.BothWays[[2]string{c.board + "/" + r.Name, t.Name}] {
				v.Takes += c.scheme.Times.Mount
			}
		}
	}
	c.add(v)
}

// visits is the order of work of one sitting of a board through its states; loads
// are the known loads that go on and off with them.
func visits(b *study.Board, states []*study.State, sc Scheme, loads []*study.KnownLoad) []visit {
	c := &clocked{board: b.Name, scheme: sc, now: sc.Times.WarmUp, loads: loads}
	groups := rounds(b)
	if len(groups) == 0 || len(states) == 0 {
		return nil
	}
	all := slices.Concat(groups...)
	moved := all
	if sc.ByState || len(groups) == 1 {
		groups = [][]*study.Rail{all}
		if !sc.ByState || len(rounds(b)) == 1 {
			moved = nil
		}
	}
	for _, rails := range groups {
		mount := rails
		if sc.ByState && moved != nil {
			mount = nil // each visit moves its clamps
		}
		since := 0
		for pass := range max(1, sc.Passes) {
			order := slices.Clone(states)
			if pass%2 == 1 {
				slices.Reverse(order)
			}
			for i, st := range order {
				if first := pass == 0 && i == 0; first || sc.StatesPerZero > 0 && since >= sc.StatesPerZero {
					if !first {
						mount = nil
					}
					c.zero(rails, mount)
					since = 0
				}
				var move []*study.Rail
				if sc.ByState {
					move = moved
				}
				c.read(st.Name, rails, move, false)
				since++
			}
		}
		if sc.ClosingZero && since > 0 {
			c.zero(rails, nil)
		}
	}
	if sc.FirstAgain && len(states) > 1 {
		first := groups[0][:1]
		c.zero(first, first)
		c.read(states[0].Name, first, nil, true)
	}
	return c.list
}

// lasts is how long a sitting takes.
func lasts(vs []visit) time.Duration {
	if len(vs) == 0 {
		return 0
	}
	return vs[len(vs)-1].At
}
