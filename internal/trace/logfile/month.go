package logfile

import "strings"

// monthNumber returns 1 … 12 for the name of a month or its first letters, in English, German,
// French, Spanish, Italian, Portuguese and Dutch; 0 for anything else.
func monthNumber(name string) int {
	name = strings.ToLower(name)
	if len(name) < 3 {
		return 0
	}
	for i, forms := range monthForms {
		for form := range strings.FieldsSeq(forms) {
			if name == form || len(name) > len(form) && strings.HasPrefix(name, form) {
				return i + 1
			}
		}
	}
	return 0
}

// monthForms are the shortest beginnings that tell the months apart; read only.
var monthForms = [12]string{
	"jan ene gen", "feb fév fev", "mar mär mrz mrt maa", "apr avr abr", "may mai mag mei",
	"jun juin giu", "jul juil lug", "aug aoû aou ago", "sep set", "oct okt ott out", "nov", "dec dez déc dic",
}
