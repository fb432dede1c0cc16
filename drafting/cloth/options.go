package cloth

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"tapeline/drafting/fault"
)

// Nap says whether pieces may lie both ways along the cloth.
type Nap string

const (
	TwoWay Nap = "two-way" // no visible nap: a piece may be turned end to end
	OneWay Nap = "one-way" // nap, pile or print with a direction: all pieces lie the same way
)

// Spread says how the cloth is spread for cutting.
type Spread string

const (
	Single Spread = "single" // one layer, right side up
	Fold   Spread = "fold"   // folded lengthwise, right sides together, the selvedges on each other
)

// Cloth describes a cloth. It is washed before it is cut, so that the shrinkage
// is bought in addition and the pieces keep their size.
type Cloth struct {
	Width         float64 `json:"width"`          // mm from edge to edge, as bought
	Selvedge      float64 `json:"selvedge"`       // mm along each edge where no piece lies
	ShrinkageWarp float64 `json:"shrinkage_warp"` // percent along its length
	ShrinkageWeft float64 `json:"shrinkage_weft"` // percent across
	Nap           Nap     `json:"nap"`
	Spread        Spread  `json:"spread"`
}

// Options describe the cloths of a pattern.
type Options struct {
	Cloth  Cloth            // every cloth that is not in Cloths
	Cloths map[string]Cloth // by name
}

// On returns the options for an ordinary cloth of a width in mm: a single layer,
// no nap, selvedges of 10 mm (common practice), no shrinkage.
func On(width float64) Options {
	return Options{Cloth: Cloth{Width: width, Selvedge: 10, Nap: TwoWay, Spread: Single}}
}

// of returns the description of a cloth by its name.
func (o Options) of(name string) Cloth {
	if c, ok := o.Cloths[name]; ok {
		return c
	}
	return o.Cloth
}

// Limits of a cloth.
const (
	minClothWidth = 200.0 // mm; narrower cloth is ribbon
	maxClothWidth = 5000.0
	maxSelvedge   = 60.0 // mm
	maxShrinkage  = 25.0 // percent
)

// check validates the options for a pattern that uses the named cloths. The
// error is a fault.List with every fault.
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

// faults returns everything wrong with a cloth.
func (c Cloth) faults() fault.List {
	var faults fault.List
	checkRange := func(field string, v, lo, hi float64, unit string) {
		if !(v >= lo && v <= hi) {
			faults = append(faults, fault.Fault{Code: fault.Range, Field: field, Value: fmt.Sprintf("%g %s", v, unit),
				Accepted: fmt.Sprintf("%g to %g %s", lo, hi, unit)})
		}
	}
	checkRange("/cloth_width", c.Width, minClothWidth, maxClothWidth, "mm")
	checkRange("/selvedge", c.Selvedge, 0, maxSelvedge, "mm")
	checkRange("/shrinkage", c.ShrinkageWarp, 0, maxShrinkage, "%")
	checkRange("/shrinkage", c.ShrinkageWeft, 0, maxShrinkage, "%")
	if c.Nap != OneWay && c.Nap != TwoWay {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/nap",
			Value: fault.Shorten(string(c.Nap)), Accepted: settings["nap"].accepted})
	}
	if c.Spread != Single && c.Spread != Fold {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/spread",
			Value: fault.Shorten(string(c.Spread)), Accepted: settings["spread"].accepted})
	}
	return faults
}

// shrunkWidth returns the width after the wash, mm.
func (c Cloth) shrunkWidth() float64 { return c.Width * (1 - c.ShrinkageWeft/100) }

// usableWidth returns the width after the wash without the selvedges, mm.
func (c Cloth) usableWidth() float64 { return c.shrunkWidth() - 2*c.Selvedge }

// widthToBuy returns the width to buy for a usable width, mm.
func (c Cloth) widthToBuy(usable float64) float64 {
	return (usable + 2*c.Selvedge) / (1 - c.ShrinkageWeft/100)
}

// lengthToBuy returns the length to buy for a length after the wash, mm.
func (c Cloth) lengthToBuy(length float64) float64 { return length / (1 - c.ShrinkageWarp/100) }
