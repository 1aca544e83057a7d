package study

import "strconv"

// NameSittings gives every sitting that a person did not name one made from its
// board and day: "Otter 2026-03-14", and for the next of the same board and day
// "Otter 2026-03-14 b".
func (s *Study) NameSittings() {
	taken := make(map[string]bool, len(s.Sittings))
	for _, x := range s.Sittings {
		if x.Named {
			taken[x.Name] = true
		}
	}
	count := make(map[string]int)
	for _, x := range s.Sittings {
		if x.Named {
			continue
		}
		base := x.Board + " " + x.On.Format("2006-01-02")
		for {
			n := count[base]
			count[base]++
			x.Name = base + letter(n)
			if !taken[x.Name] {
				break
			}
		}
		taken[x.Name] = true
	}
}

// letter is what tells the nth thing of one name from the first: "", " b",
// " c" up to " z", then " 27".
func letter(n int) string {
	switch {
	case n == 0:
		return ""
	case n < 26:
		return " " + string(rune('a'+n))
	}
	return " " + strconv.Itoa(n+1)
}
