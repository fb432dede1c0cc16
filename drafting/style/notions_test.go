package style_test

import (
	"strings"
	"testing"
)

// Zips, buttons and tapes are named in sizes that are sold (from memory; a ligne
// is a fortieth of an inch).
func TestNotionsAreSold(t *testing.T) {
	t.Parallel()
	for call, want := range map[string]string{
		"zip_fastener(554)":                        "Concealed zip of 600 mm, shortened to 554 mm",
		"zip_fastener(200)":                        "Concealed zip of 200 mm",
		`zip_fastener(171, kind = "Trouser zip")`:  "Trouser zip of 180 mm, shortened to 171 mm",
		"zip_fastener(1040)":                       "Concealed zip sold by length, cut to 1040 mm, with a slider",
		"buttons(6, 11)":                           "6 buttons of 11.4 mm (18 ligne)",
		"buttons(1, 15)":                           "1 button of 15.2 mm (24 ligne)",
		`by_length("Tape for the shoulders", 238)`: "Tape for the shoulders, 300 mm",
		`by_length("Tape", 300)`:                   "Tape, 300 mm",
		"zip_fastener(0)":                          "opening=0; want more than 0 mm",
		"buttons(0, 11)":                           "count=0, size=11; want 1 to 200 buttons of 5 to 50 mm",
		`by_length("Tape", -1)`:                    "length=-1",
	} {
		_, err := runScript(t, inMake("require(False, "+call+")"))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", call, err, want)
		}
	}
}
