// Package sizes drafts one garment over a size table. The drafts lie nested, each
// piece in all its sizes on one grain, as a shop cuts stock; a table says what every
// size measures and what it adds to the one before.
//
// Each size is drafted to its own measurements. Nothing is graded by rules, so every
// seam of every size is as true as that of an order.
package sizes

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// Limits of a size table.
const (
	MaxSizes = 40
	maxName  = 20 // runes
)

// A Size is a row of a size table.
type Size struct {
	Name   string
	Given  body.Measures // mm, degrees
	Faults fault.List    // of its row
}

// A Run is a garment in every size of a table.
type Run struct {
	Title string // the garment with its fit
	Sizes []Sized
}

// Sized is a garment in one size. Its label's reference is the size.
type Sized struct {
	Name    string
	Pattern finish.Pattern
}

// Names returns the names of the sizes.
func (r Run) Names() []string {
	names := make([]string, len(r.Sizes))
	for i, s := range r.Sizes {
		names[i] = s.Name
	}
	return names
}

// Span names the run by its first and last size, as in "Sizes 80 to 104".
func (r Run) Span() string {
	if len(r.Sizes) == 1 {
		return "Size " + r.Sizes[0].Name
	}
	return fmt.Sprintf("Sizes %s to %s", r.Sizes[0].Name, r.Sizes[len(r.Sizes)-1].Name)
}

// Check returns everything that is wrong with a size table short of drafting it.
func Check(table []Size) fault.List {
	var faults fault.List
	if len(table) == 0 || len(table) > MaxSizes {
		faults = append(faults, fault.Fault{Code: fault.Range, Field: "/table", Value: fmt.Sprintf("%d sizes", len(table)),
			Accepted: fmt.Sprintf("1 to %d sizes", MaxSizes)})
	}
	seen := map[string]bool{}
	for i, s := range table {
		field := fault.Pointer("table", fmt.Sprint(i+1))
		switch n := len([]rune(s.Name)); {
		case n == 0 || n > maxName:
			faults = append(faults, fault.Fault{Code: fault.Format, Field: field + "/size", Value: fault.Shorten(s.Name),
				Accepted: fmt.Sprintf("a name of 1 to %d characters", maxName)})
		case seen[s.Name]:
			faults = append(faults, fault.Fault{Code: fault.Duplicate, Field: field + "/size", Value: fault.Shorten(s.Name),
				Accepted: "a name that no other size has"})
		}
		seen[s.Name] = true
		faults = append(faults, within(field, s.Faults)...)
	}
	return faults
}

// Draft drafts an order without measurements to every size of a table. The error is a
// fault.List of all sizes that cannot be drafted, each fault under /table and the size's
// name, or the context's.
func Draft(ctx context.Context, base drafting.Order, table []Size) (Run, error) {
	if faults := Check(table); len(faults) > 0 {
		return Run{}, faults
	}
	var run Run
	var faults fault.List
	for _, s := range table {
		o := base
		o.Reference, o.Measurements = s.Name, s.Given
		p, err := drafting.Draft(ctx, o)
		if ctx.Err() != nil {
			return Run{}, ctx.Err()
		}
		if err != nil {
			faults = append(faults, within(fault.Pointer("table", s.Name), faultsOf(err))...)
			continue
		}
		p.Label.Measures = nil // the size says them
		run.Title = p.Style
		run.Sizes = append(run.Sizes, Sized{s.Name, p})
	}
	return run, faults.Err()
}

// within puts the fields of faults under a pointer.
func within(pointer string, faults fault.List) fault.List {
	under := slices.Clone(faults)
	for i := range under {
		under[i].Field = pointer + under[i].Field
	}
	return under
}

// faultsOf returns the faults of a draft's error.
func faultsOf(err error) fault.List {
	switch e := err.(type) { //nolint:errorlint // Draft returns its lists bare
	case fault.List:
		return e
	case fault.Fault:
		return fault.List{e}
	}
	return fault.List{{Code: fault.Undraftable, Accepted: err.Error()}}
}

// A Measure holds the values of one check or measurement, by the number of the size.
type Measure struct {
	Name   string // of the check
	Values map[int]float64
}

// Steps returns what each size adds to the one before, by the number of the size. A
// size without a value adds nothing that is known.
func (m Measure) Steps() map[int]float64 {
	steps := map[int]float64{}
	for i, v := range m.Values {
		if was, ok := m.Values[i-1]; ok {
			steps[i] = v - was
		}
	}
	return steps
}

// Finished returns the measures read back from the patterns, mm.
func (r Run) Finished() []Measure {
	return r.measures(func(p finish.Pattern, add func(name string, v float64)) {
		for _, c := range p.Checks {
			if !c.OfSeam() {
				add(c.Name, c.Drafted)
			}
		}
	})
}

// Bodies returns the measurements to which the sizes are drafted: mm, and degrees for
// angles.
func (r Run) Bodies() []Measure {
	return r.measures(func(p finish.Pattern, add func(name string, v float64)) {
		for _, m := range p.Measurements {
			add(m.Name, m.Value)
		}
	})
}

func (r Run) measures(each func(p finish.Pattern, add func(name string, v float64))) []Measure {
	var all []Measure
	at := map[string]int{}
	for i, s := range r.Sizes {
		each(s.Pattern, func(name string, v float64) {
			k, ok := at[name]
			if !ok {
				k = len(all)
				at[name] = k
				all = append(all, Measure{name, map[int]float64{}})
			}
			all[k].Values[i] = v
		})
	}
	return all
}

// A Nested is a piece in the sizes that have it.
type Nested struct {
	Name  string
	Sizes []SizedPiece
}

// SizedPiece is a piece in one size.
type SizedPiece struct {
	Size  int // its number in the run
	Piece finish.Piece
}

// Nest returns every piece in its sizes. All lie as drafted: their origins and grains
// agree.
func (r Run) Nest() []Nested {
	var nest []Nested
	at := map[string]int{}
	for i, s := range r.Sizes {
		for _, p := range s.Pattern.Pieces {
			k, ok := at[p.Name]
			if !ok {
				k = len(nest)
				at[p.Name] = k
				nest = append(nest, Nested{Name: p.Name})
			}
			nest[k].Sizes = append(nest[k].Sizes, SizedPiece{i, p})
		}
	}
	return nest
}

// Smallest returns the piece in the size of the least area: what fits it fits all.
func (n Nested) Smallest() finish.Piece {
	return slices.MinFunc(n.Sizes, func(a, b SizedPiece) int {
		return compareArea(a.Piece.Piece, b.Piece.Piece)
	}).Piece
}

func compareArea(a, b pattern.Piece) int {
	switch d := a.Outline().Area() - b.Outline().Area(); {
	case d < 0:
		return -1
	case d > 0:
		return 1
	}
	return 0
}

// Base returns an order without measurements, to be drafted to the sizes of a table. The
// faults are those of its style, fit, choices, ease and allowances.
func Base(in drafting.OrderInput, garment *style.Style) (drafting.Order, fault.List) {
	in.Measurements = map[string]float64{}
	o, faults := drafting.NewOrder(in, garment)
	o.Revision, o.Told = 1, false
	return o, slices.DeleteFunc(faults, func(f fault.Fault) bool { return strings.HasPrefix(f.Field, "/measurements") })
}
