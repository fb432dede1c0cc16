package cloth

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
)

// Nap says whether the pieces may lie both ways along the cloth.
type Nap string

const (
	TwoWay Nap = "two-way" // no nap, or one that does not show: a piece may be turned end to end
	OneWay Nap = "one-way" // nap, pile or print with a direction: all pieces the same way up
)

// Spread is how the cloth is laid for cutting.
type Spread string

const (
	Single Spread = "single" // one layer, right side up
	Fold   Spread = "fold"   // folded lengthwise, right sides together, the selvedges on each other
)

// Cloth is what pieces are laid on. The cloth is washed before it is cut, so
// that what it shrinks by is bought in addition and the pieces keep their size.
type Cloth struct {
	Width         float64 `json:"width"`          // mm from edge to edge, as bought
	Selvedge      float64 `json:"selvedge"`       // mm along each edge that are not cut from
	ShrinkageWarp float64 `json:"shrinkage_warp"` // percent that it shrinks by along its length
	ShrinkageWeft float64 `json:"shrinkage_weft"` // and across
	Nap           Nap     `json:"nap"`
	Spread        Spread  `json:"spread"`
}

// Options say what the cloths are like: one for all, and for those that differ
// one of their own.
type Options struct {
	Cloth  Cloth
	Cloths map[string]Cloth // by name
}

// On is the usual cloth of a width: a single layer without a nap, selvedges of
// 10 mm (common practice), shrunk already.
func On(width float64) Options {
	return Options{Cloth: Cloth{Width: width, Selvedge: 10, Nap: TwoWay, Spread: Single}}
}

// of is what is known of a cloth.
func (o Options) of(name string) Cloth {
	if c, ok := o.Cloths[name]; ok {
		return c
	}
	return o.Cloth
}

// Limits of a cloth.
const (
	minWidth     = 200.0 // narrower cloth is ribbon
	maxWidth     = 5000.0
	maxSelvedge  = 60.0
	maxShrinkage = 25.0
)

// check returns everything wrong with the options as a fault.List. cloths are
// those of the pattern.
func (o Options) check(cloths []string) error {
	var faults fault.List
	for _, name := range slices.Sorted(maps.Keys(o.Cloths)) {
		if !slices.Contains(cloths, name) {
			faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/cloth", Value: fault.Shorten(name),
				Accepted: "a cloth of the pattern: " + strings.Join(cloths, ", ")})
			continue
		}
		faults = append(faults, o.Cloths[name].faults()...)
	}
	return append(o.Cloth.faults(), faults...).Err()
}

func (c Cloth) faults() fault.List {
	var faults fault.List
	within := func(field string, v, least, most float64, unit string) {
		if !(v >= least && v <= most) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: fmt.Sprintf("%g %s", v, unit),
				Accepted: fmt.Sprintf("%g to %g %s", least, most, unit)})
		}
	}
	within("/fabric_width", c.Width, minWidth, maxWidth, "mm")
	within("/selvedge", c.Selvedge, 0, maxSelvedge, "mm")
	within("/shrinkage", c.ShrinkageWarp, 0, maxShrinkage, "%")
	within("/shrinkage", c.ShrinkageWeft, 0, maxShrinkage, "%")
	if c.Nap != OneWay && c.Nap != TwoWay {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/nap", Value: fault.Shorten(string(c.Nap)), Accepted: "one-way or two-way"})
	}
	if c.Spread != Single && c.Spread != Fold {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/fabric", Value: fault.Shorten(string(c.Spread)), Accepted: "single or fold"})
	}
	return faults
}

// shrunkWidth is the width after the wash.
func (c Cloth) shrunkWidth() float64 { return c.Width * (1 - c.ShrinkageWeft/100) }

// layWidth is the width that can be laid on.
func (c Cloth) layWidth() float64 { return c.shrunkWidth() - 2*c.Selvedge }

// wholeWidth is the width to buy for one that can be laid on.
func (c Cloth) wholeWidth(lay float64) float64 {
	return (lay + 2*c.Selvedge) / (1 - c.ShrinkageWeft/100)
}

// unshrunk is the length to buy for one after the wash.
func (c Cloth) unshrunk(length float64) float64 { return length / (1 - c.ShrinkageWarp/100) }
