package notebook

import (
	"fmt"
	"strings"

	"railtally/internal/trace/logfile"
)

// LogChannels returns the channels that a profile makes of a log, by names that tell them apart: where two
// columns are called "Core" they are "Core V" and "Core A". A log whose rows name its channels has none before it
// is read.
func LogChannels(p *logfile.Profile) []Channel { return apart(logfile.Channels(p)) }

// apart gives channels of one name its unit as well, and a number where that is not enough.
func apart(list []logfile.Channel) []Channel {
	times := map[string]int{}
	for _, c := range list {
		times[c.Name]++
	}
	out := make([]Channel, len(list))
	taken := map[string]bool{}
	for i, c := range list {
		name := c.Name
		if times[name] > 1 {
			name = strings.TrimSpace(name + " " + c.Unit.Symbol())
		}
		for n := 2; taken[name]; n++ {
			name = fmt.Sprintf("%s %d", strings.TrimSpace(c.Name+" "+c.Unit.Symbol()), n)
		}
		taken[name] = true
		out[i] = Channel{Name: name, Unit: c.Unit}
	}
	return out
}
