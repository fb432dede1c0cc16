package style

import (
	"math"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// A Description is a style's head as published: all that a shop needs to build
// its order form. Lengths are in Unit.
type Description struct {
	Slug        string              `json:"slug"`
	Title       string              `json:"title"`
	About       string              `json:"about,omitempty"`
	Block       string              `json:"block"`
	Hash        string              `json:"hash"` // SHA-256 of the script
	Unit        body.Unit           `json:"unit"`
	Requires    []body.Name         `json:"requires"` // measurements an order must give, unless a choice spares them
	Uses        []body.Name         `json:"uses"`     // measurements used, estimated if an order does not give them
	Fits        []FitDescription    `json:"fits"`     // the first is the default
	Choices     []ChoiceDescription `json:"choices"`
	Cloths      []string            `json:"cloths"`
	Cautions    []string            `json:"cautions"`
	Allowances  map[string]float64  `json:"allowances,omitempty"`
	OrderSchema map[string]any      `json:"order_schema"` // JSON Schema 2020-12 of an order's fit, choices, ease
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
	d.OrderSchema = orderSchema(spec, d)
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

// orderSchema returns the JSON Schema of the parts of an order that depend on
// the style.
func orderSchema(spec block.Spec, d Description) map[string]any {
	fits := []any{}
	for _, f := range d.Fits {
		fits = append(fits, f.Name)
	}
	choices := map[string]any{}
	for _, c := range d.Choices {
		choices[c.Name] = c.schema()
	}
	ease := map[string]any{}
	for _, e := range spec.Fits[0].Ease {
		lo, hi := e.Min, e.Max
		for _, f := range spec.Fits {
			for _, o := range f.Ease {
				if o.Name == e.Name {
					lo, hi = min(lo, o.Min), max(hi, o.Max)
				}
			}
		}
		lo, hi = roundInward(d.Unit, lo, hi)
		ease[e.Name] = map[string]any{"type": "number", "minimum": lo, "maximum": hi}
	}
	object := func(properties map[string]any) map[string]any {
		return map[string]any{"type": "object", "additionalProperties": false, "properties": properties}
	}
	return map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   d.Title,
		"type":    "object",
		"properties": map[string]any{
			"style":   map[string]any{"const": d.Slug},
			"fit":     map[string]any{"enum": fits, "default": d.Fits[0].Name},
			"choices": object(choices),
			"ease":    object(ease),
		},
	}
}

func (c ChoiceDescription) schema() map[string]any {
	words := map[string]any{"enum": c.Options}
	var s map[string]any
	switch c.Kind {
	case block.KindYesNo:
		s = map[string]any{"type": "boolean"}
	case block.KindOption:
		s = words
	case block.KindCount:
		s = map[string]any{"type": "integer", "minimum": *c.Min, "maximum": *c.Max}
	default:
		s = map[string]any{"type": "number", "minimum": *c.Min, "maximum": *c.Max}
		if len(c.Options) > 0 {
			s = map[string]any{"anyOf": []any{words, s}}
		}
	}
	s["description"] = c.Help
	s["default"] = c.Default
	return s
}
