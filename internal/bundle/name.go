package bundle

import (
	"errors"
	"fmt"
	"path"
	"strings"
	"unicode/utf8"
)

// checkName refuses a name that could reach out of the folder it is unpacked
// to, that some system would take for something else, or that could be another
// name for the same file. Bundles are written with small letters, figures,
// points, hyphens and low lines alone; nothing else is needed.
func checkName(name string) error {
	switch {
	case name == "":
		return errors.New("a file has no name")
	case len(name) > MaxName:
		return fmt.Errorf("the name %.40q… has more than %d bytes", name, MaxName)
	case !utf8.ValidString(name):
		return fmt.Errorf("the name %q is not UTF-8", name)
	case strings.ContainsRune(name, '\\'):
		return fmt.Errorf("the name %q has a backslash", name)
	case strings.HasPrefix(name, "/"):
		return fmt.Errorf("the name %q begins at the root", name)
	case len(name) > 1 && name[1] == ':':
		return fmt.Errorf("the name %q begins with a drive", name)
	}
	for part := range strings.SplitSeq(name, "/") {
		switch {
		case part == "" || part == "." || part == "..":
			return fmt.Errorf("the name %q leaves its folder or has an empty part", name)
		case strings.HasPrefix(part, ".") || strings.HasSuffix(part, "."):
			return fmt.Errorf("the name %q has a part that begins or ends with a point", name)
		case isDevice(part):
			return fmt.Errorf("the name %q is that of a device on some systems", name)
		}
	}
	for _, r := range name {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', strings.ContainsRune("._-/", r):
		case r >= 'A' && r <= 'Z':
			return fmt.Errorf("the name %q has a capital letter, and could be another name for the same file", name)
		default:
			return fmt.Errorf("the name %q has the character %q, which no bundle has", name, r)
		}
	}
	if path.Clean(name) != name {
		return fmt.Errorf("the name %q is not plain", name)
	}
	return nil
}

// isDevice tells whether Windows takes a name for a device, whatever stands
// behind its first point.
func isDevice(part string) bool {
	base, _, _ := strings.Cut(strings.ToLower(part), ".")
	switch base {
	case "con", "prn", "aux", "nul", "clock$", "conin$", "conout$":
		return true
	}
	rest, ok := strings.CutPrefix(base, "com")
	if !ok {
		rest, ok = strings.CutPrefix(base, "lpt")
	}
	return ok && utf8.RuneCountInString(rest) == 1 && strings.ContainsAny(rest, "0123456789¹²³")
}

// fileName makes a name for a file out of a title: small letters and figures
// joined by hyphens; "" when there are none.
func fileName(title string) string {
	words := strings.FieldsFunc(strings.ToLower(title), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	name := strings.Join(words, "-")
	if len(name) > 40 {
		name = strings.TrimRight(name[:40], "-")
	}
	if isDevice(name) {
		name = "the-" + name
	}
	return name
}
