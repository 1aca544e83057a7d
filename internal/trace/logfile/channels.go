package logfile

// Channels returns the channels that a valid profile makes of a log whose columns are its channels; none of a
// Long one, whose rows name them, or of a profile that is not valid.
func Channels(p *Profile) []Channel {
	pl, err := newPlan(p)
	if err != nil {
		return nil
	}
	return pl.channels
}
