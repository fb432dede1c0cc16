package sheets

import (
	"fmt"

	"tapeline/drafting/fault"
)

// Orientation says how the pages lie.
type Orientation string

const (
	Auto      Orientation = ""          // the one that needs fewer pages; portrait if equal
	Portrait  Orientation = "portrait"  // the long side upright
	Landscape Orientation = "landscape" // the long side level
)

// Placing says how pieces are placed on the sheet.
type Placing string

const (
	Nested Placing = ""    // for few pages
	InRow  Placing = "row" // side by side as drafted, the baseline of the search
)

const (
	// DefaultMargin is in mm. Home printers cannot print on the outermost 3 to
	// 6 mm (common practice).
	DefaultMargin = 10.0
	maxMargin     = 40.0
	maxOverlap    = 40.0
	// Gap is the smallest distance between two pieces on the sheet, mm: enough for
	// scissors.
	Gap = 5.0
)

// Options describe the paper and the layout. Start from On.
//
// By default the pages butt (Overlap 0): each is trimmed along the frame on two
// sides and laid on the blank margins of its neighbours, which serve as tabs for
// glue or tape. Nothing is printed twice, and no page is wasted on strips. With
// an overlap, both pages show a strip of the pattern, for taping without trimming
// against a window or a light.
type Options struct {
	Paper       Paper
	Margin      float64 // mm left blank on every side of a page
	Overlap     float64 // mm of the pattern that both neighbouring pages show
	Orientation Orientation
	Placing     Placing
	Lines       []LineKind // that the legend explains; nil for those of a pattern
}

// On returns the options for the usual layout on a paper: margins of 10 mm, pages
// that butt.
func On(p Paper) Options { return Options{Paper: p, Margin: DefaultMargin} }

// Check returns everything wrong with the options as a fault.List.
func (o Options) Check() error {
	var faults fault.List
	checkRange := func(name string, v, limit float64) {
		if !(v >= 0 && v <= limit) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: fault.Pointer(name),
				Value: fmt.Sprintf("%g mm", v), Accepted: fmt.Sprintf("0 to %g mm", limit)})
		}
	}
	checkRange("margin", o.Margin, maxMargin)
	checkRange("overlap", o.Overlap, maxOverlap)
	switch o.Orientation {
	case Auto, Portrait, Landscape:
	default:
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/orientation",
			Value:    fault.Shorten(string(o.Orientation)),
			Accepted: "portrait or landscape; without it, the one with fewer pages"})
	}
	switch o.Placing {
	case Nested, InRow:
	default:
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/placing",
			Value: fault.Shorten(string(o.Placing)), Accepted: "row; without it, the placing with the fewest pages"})
	}
	if o.Paper.Name == "" {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: "/paper", Accepted: acceptedPapers()})
	} else if known, err := ParsePaper(o.Paper.Name); err != nil || known != o.Paper {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/paper",
			Value: fault.Shorten(o.Paper.Name), Accepted: acceptedPapers()})
	}
	return faults.Err()
}
