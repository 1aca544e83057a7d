package look

import "strings"

// CSS returns the palette as custom properties: light, dark where the reader's
// system prefers it, and light again in print. A data-theme of "light" or
// "dark" on the root element overrules the system.
func CSS() string {
	var b strings.Builder
	light, dark := properties(Light()), properties(Dark())
	b.WriteString(":root {\n  color-scheme: light dark;\n  --sans: " + Families + ";\n" + light + "}\n")
	b.WriteString("@media screen and (prefers-color-scheme: dark) {\n:root:not([data-theme=\"light\"]) {\n" + dark + "}\n}\n")
	b.WriteString("@media screen {\n:root[data-theme=\"light\"] { color-scheme: light; }\n:root[data-theme=\"dark\"] {\n  color-scheme: dark;\n" + dark + "}\n}\n")
	b.WriteString("@media print {\n:root { color-scheme: light; }\n}\n")
	return b.String()
}

func properties(p *Palette) string {
	var b strings.Builder
	for _, r := range Roles() {
		b.WriteString("  --" + r.String() + ": " + p.Of(r).Hex() + ";\n")
	}
	return b.String()
}
