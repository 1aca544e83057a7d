package look

import (
	_ "embed" // the font files
	"encoding/base64"
	"slices"
	"strings"
)

// Family is the typeface's name; Families is the CSS list with what stands in
// where it is missing, in the order of likeness.
const (
	Family   = "Railtally Sans"
	Families = `"Railtally Sans", "Source Sans 3", "Source Sans Pro", "Noto Sans", "Segoe UI", "Helvetica Neue", Arial, sans-serif`
)

// The CSS weights of the two cuts.
const (
	Regular  = 400
	SemiBold = 600
)

var (
	//go:embed fonts/sans-regular.ttf
	regularTTF string
	//go:embed fonts/sans-semibold.ttf
	semiBoldTTF string
	//go:embed fonts/sans-regular.woff2
	regularWOFF2 string
	//go:embed fonts/sans-semibold.woff2
	semiBoldWOFF2 string
	//go:embed fonts/OFL.txt
	licence string
)

// TTF returns the TrueType file of a weight: SemiBold from 500 upwards, else
// Regular. The caller may change the slice.
func TTF(weight int) []byte {
	if weight >= 500 {
		return slices.Clone([]byte(semiBoldTTF))
	}
	return slices.Clone([]byte(regularTTF))
}

// WOFF2 returns the file for pages of a weight, chosen as by TTF.
func WOFF2(weight int) []byte {
	if weight >= 500 {
		return slices.Clone([]byte(semiBoldWOFF2))
	}
	return slices.Clone([]byte(regularWOFF2))
}

// FontLicence returns the licence that the typeface is under.
func FontLicence() string { return licence }

// FontCSS returns @font-face rules with the typeface inside, about 60 kB.
func FontCSS() string {
	return face(Regular, regularWOFF2) + face(SemiBold, semiBoldWOFF2)
}

func face(weight int, file string) string {
	var b strings.Builder
	b.WriteString("@font-face {\n  font-family: \"" + Family + "\";\n  font-style: normal;\n  font-weight: ")
	if weight == SemiBold {
		b.WriteString("600 700")
	} else {
		b.WriteString("400")
	}
	b.WriteString(";\n  font-display: block;\n  src: url(data:font/woff2;base64,")
	b.WriteString(base64.StdEncoding.EncodeToString([]byte(file)))
	b.WriteString(") format(\"woff2\");\n}\n")
	return b.String()
}
