package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tapeline/drafting/fault"
)

const inch = 25.4 // mm, exactly

// MaxSide is the longest side of a PDF page, mm: 14 400 units of 1/72 inch
// (ISO 32000, annex C). A longer sheet becomes several pages.
const MaxSide = 14400 * inch / 72

// Limits of a roll's width, mm: a narrower roll is too narrow for any piece, and
// no plotter takes a wider one.
const (
	minRoll = 250.0
	maxRoll = 2500.0
)

// Paper is a kind of paper. A roll has no height, a full sheet neither width nor
// height: these become as long as the pattern needs.
type Paper struct {
	Name   string  // in the form that ParsePaper reads: a4, ansi-c, roll-914, full
	Width  float64 // mm, of the upright page
	Height float64
}

// papers are the cut sizes: ISO 216 for the A series, ASME Y14.1 for the
// American ones (its A and B are letter and tabloid; legal is the trade's).
var papers = []Paper{
	{"a4", 210, 297},
	{"a3", 297, 420},
	{"a2", 420, 594},
	{"a1", 594, 841},
	{"a0", 841, 1189},
	{"letter", 8.5 * inch, 11 * inch},
	{"legal", 8.5 * inch, 14 * inch},
	{"tabloid", 11 * inch, 17 * inch},
	{"ansi-c", 17 * inch, 22 * inch},
	{"ansi-d", 22 * inch, 34 * inch},
	{"ansi-e", 34 * inch, 44 * inch},
}

// Full is the paper that is one sheet of the pattern's own size.
var Full = Paper{Name: "full"}

// Papers returns the cut sizes that ParsePaper knows, small ones first.
func Papers() []Paper { return slices.Clone(papers) }

// Roll returns a plotter roll of a width in mm. The error is a fault.Fault.
func Roll(width float64) (Paper, error) {
	if !(width >= minRoll && width <= maxRoll) {
		return Paper{}, fault.Fault{Code: fault.Range, Field: "/paper", Value: fmt.Sprintf("roll of %g mm", width),
			Accepted: fmt.Sprintf("a roll %g to %g mm wide", minRoll, maxRoll)}
	}
	return Paper{Name: "roll-" + strconv.FormatFloat(width, 'f', -1, 64), Width: width}, nil
}

// ParsePaper reads the name of a paper: a cut size, "full", or "roll-" and a
// width in mm ("roll-914") or inches ("roll-36in"). The error is a fault.Fault
// that lists the accepted names.
func ParsePaper(name string) (Paper, error) {
	for _, p := range papers {
		if p.Name == name {
			return p, nil
		}
	}
	if name == Full.Name {
		return Full, nil
	}
	if width, ok := strings.CutPrefix(name, "roll-"); ok {
		unit := 1.0
		if inches, ok := strings.CutSuffix(width, "in"); ok {
			width, unit = inches, inch
		}
		if v, err := strconv.ParseFloat(width, 64); err == nil {
			return Roll(v * unit)
		}
	}
	return Paper{}, fault.Fault{
		Code: fault.Choice, Field: "/paper", Value: fault.Shorten(name), Accepted: acceptedPapers(),
	}
}

// acceptedPapers lists the names that ParsePaper reads.
func acceptedPapers() string {
	var b strings.Builder
	for _, p := range papers {
		b.WriteString(p.Name + ", ")
	}
	return b.String() + "full, or roll- and a width in mm or inches (roll-914, roll-36in)"
}

// cut reports whether the paper comes in sheets of a fixed size.
func (p Paper) cut() bool { return p.Height > 0 }
