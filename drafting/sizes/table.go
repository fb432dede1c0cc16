package sizes

import (
	"io"
	"slices"

	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
)

// The standard tables: the girths of EN 13402-3 (from memory, as in package proof) at one
// height; what else a body measures is what the model of bodies predicts for them.
const (
	EN13402    = "en13402"     // women by bust girth, 164 cm high
	EN13402Men = "en13402-men" // men by chest girth, 176 cm high
)

// StandardNames lists the standard tables.
func StandardNames() []string { return []string{EN13402, EN13402Men} }

// Standard returns a standard table with the measurements that a garment needs. ok is
// false for an unknown name.
func Standard(name string, needed ...body.Name) (table []Size, ok bool) {
	if !slices.Contains(StandardNames(), name) {
		return nil, false
	}
	for _, b := range proof.SizeTable(name == EN13402Men, needed...) {
		table = append(table, Size{Name: b.Name, Given: b.Given})
	}
	return table, true
}

// ReadCSV reads a table as body.ReadCSV does. Its column size names the sizes.
func ReadCSV(r io.Reader, renamed map[string]body.Name) (table []Size, ignored []string, err error) {
	read, err := body.ReadCSV(r, renamed)
	for _, row := range read.Rows {
		table = append(table, Size{row.Name, row.Given, row.Faults})
	}
	return table, read.Ignored, err
}

// Only returns the sizes of a table that are named, in its order. The faults name those
// that it does not have.
func Only(table []Size, names []string) (chosen []Size, faults fault.List) {
	if len(names) == 0 {
		return table, nil
	}
	var all []string
	for _, s := range table {
		all = append(all, s.Name)
		if slices.Contains(names, s.Name) {
			chosen = append(chosen, s)
		}
	}
	for _, n := range names {
		faults = append(faults, fault.OneOf("/size", n, all...)...)
	}
	return chosen, faults
}
