package studyfile

import "railtally/internal/study"

// check adds what study.Check finds to the faults of reading. Where a part of
// the file could not be read, what Check says about that part, or about parts
// that depend on it, would be the same mistake told again, and is left out.
func (r *reader) check() {
	broken := make([][]string, len(r.faults))
	for i, f := range r.faults {
		broken[i] = f.path
	}
	for _, f := range study.Check(r.study) {
		if r.follows(f.Path, broken) {
			continue
		}
		line, col := r.index.Line(f.Path...)
		r.fault(f.Path, spot{line, col}, f.Accept, "%s", f.Message)
	}
}

// follows tells whether a fault at a path may come from one of the broken ones.
func (r *reader) follows(path []string, broken [][]string) bool {
	for _, b := range broken {
		if prefix(b, path) || prefix(path, b) || r.depends(path, b) {
			return true
		}
	}
	return false
}

// prefix tells whether one path begins with the other.
func prefix(short, long []string) bool {
	if len(short) > len(long) {
		return false
	}
	for i := range short {
		if short[i] != long[i] {
			return false
		}
	}
	return true
}

// depends tells whether what stands at a path is understood by what stands at
// another: taps and readings by instruments, a step's rail by the board's rail,
// states by factors. Names are known even where what they name could not be
// read, so a reference depends only on the whole list of names.
func (r *reader) depends(path, on []string) bool {
	if len(path) == 0 || len(on) == 0 {
		return false
	}
	step := path[0] == "sittings" && at(path, 2) == "steps"
	switch on[0] {
	case "instruments":
		switch {
		case path[0] == "boards":
			return at(path, 4) == "tap" || at(path, 4) == "taps"
		case step:
			return len(path) > 4 && at(path, 4) != "at" && at(path, 4) != "state"
		}
		return path[0] == "sittings" && (at(path, 2) == "meter" || at(path, 2) == "thermometer")
	case "factors":
		return path[0] == "states" || path[0] == "claims" || path[0] == "interactions"
	case "states":
		_, listed := r.index.at[indexKey([]string{"factors"})]
		return len(on) == 1 && (path[0] == "compare" || path[0] == "claims" || planned(path) || at(path, 4) == "state") || (path[0] == "factors" || path[0] == "interactions") && !listed
	case "boards":
		switch {
		case path[0] == "boards" && at(path, 1) == at(on, 1) && at(path, 4) == "hangs on":
			return at(on, 2) == "defaults" || at(on, 3) == r.parent(at(path, 1), at(path, 3))
		case path[0] == "compare" || path[0] == "claims" || path[0] == "cooling" || planned(path):
			return len(on) == 1
		case step:
			return len(on) < 4 || at(on, 2) == "defaults" || at(path, 4) == at(on, 3) || at(path, 4) == "zero"
		}
		return path[0] == "sittings" && len(on) == 1
	case "sittings":
		return path[0] == "cooling" && at(path, 2) == "limits"
	case "bench":
		key := at(on, 1)
		return path[0] == "sittings" && (key == "" || key == at(path, 2) || step && (key == "meter" || key == "thermometer"))
	}
	return false
}

// planned tells whether a path leads into what a plan is made from.
func planned(path []string) bool {
	switch path[0] {
	case "aims", "expected", "proofs", "order", "both ways", "done":
		return true
	}
	return false
}

// parent is the rail that a rail hangs on, or nothing.
func (r *reader) parent(board, rail string) string {
	if b := r.study.Board(board); b != nil {
		if x := b.Rail(rail); x != nil && x.From != nil {
			return x.From.Rail
		}
	}
	return ""
}

// at returns a part of a path, or nothing beyond its end.
func at(path []string, i int) string {
	if i < len(path) {
		return path[i]
	}
	return ""
}
