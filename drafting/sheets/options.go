package sheets

import (
	"fmt"

	"tapeline/drafting/fault"
)

// Orientation is how the pages lie.
type Orientation string

const (
	Auto      Orientation = ""          // whichever needs fewer pages; portrait between equals
	Portrait  Orientation = "portrait"  // the long side upright
	Landscape Orientation = "landscape" // the long side level
)

// Placing is how the pieces are laid on the sheet.
type Placing string

const (
	Nested Placing = ""    // for few pages
	InRow  Placing = "row" // side by side as drafted: what the search is measured against
)

const (
	// DefaultMargin is what home printers leave free with room to spare: they
	// do not print on 3 to 6 mm at the edge (common practice).
	DefaultMargin = 10.0
	maxMargin     = 40.0
	maxOverlap    = 40.0
	// Gap is the least distance between two pieces on the sheet, mm: enough
	// for scissors between them.
	Gap = 5.0
)

// Options say what the pattern is laid out on. Start from On.
//
// Pages butt by default (Overlap 0): each is trimmed along the frame on two
// sides and laid on the blank margins of its neighbours, which are then the
// tabs to glue or tape. Nothing is printed twice and no page is wasted on
// strips. With an overlap, that strip of the pattern is printed on both pages,
// for those who tape without trimming, against a window or a light.
type Options struct {
	Paper       Paper
	Margin      float64 // mm left blank on every side of a page
	Overlap     float64 // mm of the pattern that neighbouring pages both show
	Orientation Orientation
	Placing     Placing
}

// On is the usual layout on a paper: margins of 10 mm, pages that butt.
func On(p Paper) Options { return Options{Paper: p, Margin: DefaultMargin} }

// Check returns everything wrong with the options as a fault.List.
func (o Options) Check() error {
	var faults fault.List
	within := func(name string, v, most float64) {
		if !(v >= 0 && v <= most) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: fault.Pointer(name),
				Value: fmt.Sprintf("%g mm", v), Accepted: fmt.Sprintf("0 to %g mm", most)})
		}
	}
	within("margin", o.Margin, maxMargin)
	within("overlap", o.Overlap, maxOverlap)
	switch o.Orientation {
	case Auto, Portrait, Landscape:
	default:
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/orientation",
			Value: fault.Shorten(string(o.Orientation)), Accepted: "portrait, landscape, or none for fewest pages"})
	}
	switch o.Placing {
	case Nested, InRow:
	default:
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/placing",
			Value: fault.Shorten(string(o.Placing)), Accepted: "row, or none for fewest pages"})
	}
	if o.Paper.Name == "" {
		faults = append(faults, fault.Fault{Code: fault.Missing, Field: "/paper", Accepted: acceptedPapers()})
	} else if known, err := ParsePaper(o.Paper.Name); err != nil || known != o.Paper {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/paper", Value: fault.Shorten(o.Paper.Name), Accepted: acceptedPapers()})
	}
	return faults.Err()
}
