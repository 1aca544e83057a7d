package study

import "strings"

// maxListed limits how many names a message offers.
const maxListed = 12

// Nearest returns the name that a mistyped word most likely means: the one
// within a third of its length in slips of the pen (a letter wrong, missing,
// too much, or two exchanged), or "" when none is so near. Case and spacing
// are not counted.
func Nearest(word string, names []string) string {
	best, least := "", 0
	w := []rune(plain(word))
	for _, name := range names {
		n := []rune(plain(name))
		if len(w) > 100 || len(n) > 100 {
			continue
		}
		limit := max(len(w), len(n)) / 3
		if max(len(w), len(n)) > 1 {
			limit = max(limit, 1)
		}
		if d := slips(w, n); d <= limit && (best == "" || d < least) {
			best, least = name, d
		}
	}
	return best
}

// Accepting lists the names that would be accepted in place of a word, and
// proposes the nearest.
func Accepting(word string, names []string) string {
	if len(names) == 0 {
		return ""
	}
	list := names
	more := ""
	if len(list) > maxListed {
		list, more = list[:maxListed], ", …"
	}
	out := strings.Join(list, ", ") + more
	if n := Nearest(word, names); n != "" {
		out += "; did you mean " + n + "?"
	}
	return out
}

// plain is a name as it is compared with others: without case, with single
// spaces.
func plain(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// slips counts the slips between two words: the optimal string alignment
// distance (insertion, deletion, substitution, exchange of neighbours), by the
// usual table of three rows. Source: G. Navarro, "A guided tour to approximate
// string matching", ACM Computing Surveys 33 (2001), section 2; from memory.
func slips(a, b []rune) int {
	before, prev, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(prev[j]+1, row[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, prev, row = prev, row, before
	}
	return prev[len(b)]
}
