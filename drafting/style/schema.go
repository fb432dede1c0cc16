package style

import (
	"math"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// A Description is a style's head as published: all that a shop needs to build
// its order form. Lengths are in Unit.
type Description struct {
	Slug       string              `json:"slug"`
	Title      string              `json:"title"`
	About      string              `json:"about,omitempty"`
	Block      string              `json:"block"`
	Hash       string              `json:"hash"` // SHA-256 of the script
	Unit       body.Unit           `json:"unit"`
	Requires   []body.Name         `json:"requires"` // measurements an order must give, unless a choice spares them
	Uses       []body.Name         `json:"uses"`     // measurements used, estimated if an order does not give them
	Fits       []FitDescription    `json:"fits"`     // the first is the default
	Choices    []ChoiceDescription `json:"choices"`
	Cloths     []string            `json:"cloths"`
	Cautions   []string            `json:"cautions"`
	Allowances map[string]float64  `json:"allowances,omitempty"`
}

// A FitDescription is one fit with its complete table of ease.
type FitDescription struct {
	Name string             `json:"name"`
	Help string             `json:"help,omitempty"`
	Ease map[string]float64 `json:"ease"`
}

// A ChoiceDescription is one choice. Default is a string, a number or a boolean.
type ChoiceDescription struct {
	Name    string           `json:"name"`
	Kind    block.ChoiceKind `json:"kind"`
	Help    string           `json:"help"`
	Default any              `json:"default"`
	Options []string         `json:"options,omitempty"`
	Min     *float64         `json:"min,omitempty"`
	Max     *float64         `json:"max,omitempty"`

	// Spares are the measurements that an order with a word need not give.
	Spares map[string][]body.Name `json:"spares,omitempty"`
}

// Describe returns the head with lengths in a unit.
func (s *Style) Describe(unit body.Unit) Description {
	spec := s.Spec()
	d := Description{
		Slug: s.Head.Slug, Title: s.Head.Title, About: s.Head.About, Block: s.Head.Block, Hash: s.Hash, Unit: unit,
		Requires: spec.Requires, Uses: spec.Uses, Fits: []FitDescription{}, Choices: []ChoiceDescription{},
		Cloths: append([]string{}, s.Head.Cloths...), Cautions: append([]string{}, s.Head.Cautions...),
		Allowances: map[string]float64{},
	}
	for i, f := range spec.Fits {
		ease := map[string]float64{}
		for _, e := range f.Ease {
			ease[e.Name] = unit.From(e.Value)
		}
		d.Fits = append(d.Fits, FitDescription{f.Name, s.Head.Fits[i].Help, ease})
	}
	for _, c := range spec.Choices {
		choice := describeChoice(c, unit)
		choice.Spares = s.needs.spares[c.Name]
		d.Choices = append(d.Choices, choice)
	}
	for name, mm := range s.Head.Allowances {
		d.Allowances[name] = unit.From(mm)
	}
	return d
}

func describeChoice(c block.Choice, unit body.Unit) ChoiceDescription {
	in := func(v float64) float64 {
		if c.Kind == block.KindLength {
			return unit.From(v)
		}
		return v
	}
	d := ChoiceDescription{Name: c.Name, Kind: c.Kind, Help: c.Help, Options: c.Options}
	switch {
	case c.Kind == block.KindYesNo:
		d.Default, d.Options = c.Default.Word == "yes", nil
	case c.Default.Word != "":
		d.Default = c.Default.Word
	default:
		d.Default = in(c.Default.Number)
	}
	lo, hi := c.Min, c.Max
	switch c.Kind {
	case block.KindLength:
		lo, hi = roundInward(unit, lo, hi)
		fallthrough
	case block.KindCount, block.KindFraction:
		d.Min, d.Max = &lo, &hi
	}
	return d
}

// roundInward converts a range of mm to the unit and rounds it inward to
// hundredths, so that an order accepts every length within it.
func roundInward(unit body.Unit, lo, hi float64) (float64, float64) {
	const slack = 1e-6
	return math.Ceil(unit.From(lo)*100-slack)/100 + 0, math.Floor(unit.From(hi)*100+slack) / 100 // +0: never -0
}
