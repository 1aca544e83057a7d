package logfile

import "time"

// dateText returns the date of a second since 1970 as YYYY-MM-DD.
func dateText(sec int64) string { return time.Unix(sec, 0).UTC().Format(time.DateOnly) }
