// Package block drafts the blocks that styles are built on, each from direct
// measurements of one body: pieces on their seam lines, with every measure
// read back from the finished outline.
package block

import (
	"maps"
	"slices"

	"tapeline/drafting/body"
)

// ChoiceKind is the kind of value that a choice takes.
type ChoiceKind string

const (
	KindOption   ChoiceKind = "option"   // one of Options
	KindFraction ChoiceKind = "fraction" // a plain number from Min to Max
	KindLength   ChoiceKind = "length"   // one of Options, or a length from Min to Max mm
	KindCount    ChoiceKind = "count"    // a whole number from Min to Max
	KindYesNo    ChoiceKind = "yes_no"   // yes or no, which are its Options
)

// Choice is a decision that an order may make about a block.
type Choice struct {
	Name    string
	Kind    ChoiceKind
	Default Value
	Options []string // accepted words
	Min     float64  // least number accepted; mm for a length
	Max     float64
	Help    string // one line for the person who chooses

	// Spares are the measurements that a draft with a word does not require.
	Spares map[string]Spared

	limits func(Request) (lo, hi float64) // narrower limits; see Range
}

// Value is a chosen value: a word, or a number (mm for a length).
type Value struct {
	Word   string
	Number float64 // used when Word is empty
	Length bool    // an order gives Number as a length
}

// YesNo returns the value of a choice of KindYesNo.
func YesNo(yes bool) Value {
	if yes {
		return Value{Word: "yes"}
	}
	return Value{Word: "no"}
}

// Ease is the amount that a fit adds to one body measurement, mm of the full girth or
// width.
type Ease struct {
	Name  string // as in an order's ease overrides, for example bust_girth
	Value float64
	Min   float64 // least and most that an order may ask for
	Max   float64
}

// Fit is a named table of ease.
type Fit struct {
	Name string
	Ease []Ease
}

// Spec describes what a block needs and offers.
type Spec struct {
	Name     string
	Title    string
	Requires []body.Name // measurements that must be given, unless a choice spares them; see Needs
	Uses     []body.Name // measurements that are used, estimated where not given
	Choices  []Choice
	Excludes []Exclusion // combinations of choices that are not accepted
	Fits     []Fit       // the first is the default
	// Alterations are the corrections after a fitting that the block knows.
	Alterations []Alteration
	Sided       bool // the sides can differ: DraftHalves drafts each apart
}

// Request is the input of a draft. Choices and Ease hold only the order's own;
// defaults come from the block.
type Request struct {
	Body    body.Body
	Fit     string
	Choices map[string]Value
	Ease    map[string]float64 // mm, over the fit's table
	Garment bool               // a garment is built on the draft: how one walks in it is the garment's to say

	// Alterations are mm by name. Left and Right hold what is different on one
	// side, over Alterations; where they hold anything the pieces come out
	// whole, or one for each side.
	Alterations map[string]float64
	Left, Right map[string]float64
}

// hasSides reports whether the alterations of the two sides differ.
func (r Request) hasSides() bool { return len(r.Left)+len(r.Right) > 0 }

// side returns the request for the side with the given alterations of its own.
func (r Request) side(own map[string]float64) Request {
	all := maps.Clone(r.Alterations)
	if all == nil {
		all = map[string]float64{}
	}
	maps.Copy(all, own)
	r.Alterations = all
	return r
}

// word returns the chosen word, or otherwise if the order has none.
func (r Request) word(choice, otherwise string) string {
	if v, ok := r.Choices[choice]; ok && v.Word != "" {
		return v.Word
	}
	return otherwise
}

// Specs returns the blocks in the order in which they are shown.
func Specs() []Spec {
	return []Spec{torsoSpec(), straightSpec(), jacketSpec(), skirtSpec(), circleSkirtSpec(), trousersSpec(),
		leggingsSpec(), knitTorsoSpec()}
}

// Alterations returns the alterations of all blocks, each with its widest
// limits.
func Alterations() []Alteration {
	var all []Alteration
	for _, s := range Specs() {
		for _, a := range s.Alterations {
			i := slices.IndexFunc(all, func(known Alteration) bool { return known.Name == a.Name })
			if i < 0 {
				all = append(all, a)
				continue
			}
			all[i].Min, all[i].Max = min(all[i].Min, a.Min), max(all[i].Max, a.Max)
			all[i].Sided = all[i].Sided || a.Sided
		}
	}
	return all
}

// Find returns the block with the name.
func Find(name string) (Spec, bool) {
	for _, s := range Specs() {
		if s.Name == name {
			return s, true
		}
	}
	return Spec{}, false
}
