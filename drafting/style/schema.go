package style

import (
	"math"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// Description is a style's head as it is published: what a shop needs to build
// its form from. Lengths are in the unit asked for.
type Description struct {
	Slug        string             `json:"slug"`
	Title       string             `json:"title"`
	About       string             `json:"about,omitempty"`
	Block       string             `json:"block"`
	Hash        string             `json:"hash"` // SHA-256 of the script
	Unit        body.Unit          `json:"unit"`
	Requires    []body.Name        `json:"requires"` // measurements that must be given
	Uses        []body.Name        `json:"uses"`     // used, estimated where not given
	Fits        []FitDescription   `json:"fits"`     // the first is the default
	Choices     []ChoiceDescribed  `json:"choices"`
	Fabrics     []string           `json:"fabrics"`
	Cautions    []string           `json:"cautions"`
	Allowances  map[string]float64 `json:"allowances,omitempty"`
	OrderSchema map[string]any     `json:"order_schema"` // JSON Schema (2020-12) of an order's fit, choices and ease
}

// FitDescription is one fit with its whole table of ease.
type FitDescription struct {
	Name string             `json:"name"`
	Help string             `json:"help,omitempty"`
	Ease map[string]float64 `json:"ease"`
}

// ChoiceDescribed is one choice. Default is a word, a number or a truth value.
type ChoiceDescribed struct {
	Name    string           `json:"name"`
	Kind    block.ChoiceKind `json:"kind"`
	Help    string           `json:"help"`
	Default any              `json:"default"`
	Options []string         `json:"options,omitempty"`
	Least   *float64         `json:"least,omitempty"`
	Most    *float64         `json:"most,omitempty"`
}

// Describe is the head with lengths in a unit.
func (s *Style) Describe(unit body.Unit) Description {
	spec := s.Spec()
	d := Description{
		Slug: s.Head.Slug, Title: s.Head.Title, About: s.Head.About, Block: s.Head.Block, Hash: s.Hash, Unit: unit,
		Requires: spec.Requires, Uses: spec.Uses, Fits: []FitDescription{}, Choices: []ChoiceDescribed{},
		Fabrics: append([]string{}, s.Head.Fabrics...), Cautions: append([]string{}, s.Head.Cautions...),
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
		d.Choices = append(d.Choices, described(c, unit))
	}
	for name, mm := range s.Head.Allowances {
		d.Allowances[name] = unit.From(mm)
	}
	d.OrderSchema = orderSchema(spec, d)
	return d
}

func described(c block.Choice, unit body.Unit) ChoiceDescribed {
	in := func(v float64) float64 {
		if c.Kind == block.KindLength {
			return unit.From(v)
		}
		return v
	}
	least, most := c.Min, c.Max
	if c.Kind == block.KindLength {
		least, most = inward(unit, least, most)
	}
	d := ChoiceDescribed{Name: c.Name, Kind: c.Kind, Help: c.Help, Options: c.Options}
	switch {
	case c.Kind == block.KindYesNo:
		d.Default, d.Options = c.Default.Word == "yes", nil
	case c.Default.Word != "":
		d.Default = c.Default.Word
	default:
		d.Default = in(c.Default.Number)
	}
	if c.Kind == block.KindLength || c.Kind == block.KindCount || c.Kind == block.KindFraction {
		d.Least, d.Most = &least, &most
	}
	return d
}

// inward is a range of mm in the unit, rounded to hundredths inward, so that
// an order takes every length within it.
func inward(unit body.Unit, least, most float64) (float64, float64) {
	const slack = 1e-6
	return math.Ceil(unit.From(least)*100-slack)/100 + 0, math.Floor(unit.From(most)*100+slack) / 100 // +0: never -0
}

// orderSchema is the JSON Schema of what an order says about the style.
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
		least, most := e.Min, e.Max
		for _, f := range spec.Fits {
			for _, o := range f.Ease {
				if o.Name == e.Name {
					least, most = min(least, o.Min), max(most, o.Max)
				}
			}
		}
		least, most = inward(d.Unit, least, most)
		ease[e.Name] = map[string]any{"type": "number", "minimum": least, "maximum": most}
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

func (c ChoiceDescribed) schema() map[string]any {
	words := map[string]any{"enum": c.Options}
	var s map[string]any
	switch c.Kind {
	case block.KindYesNo:
		s = map[string]any{"type": "boolean"}
	case block.KindOption:
		s = words
	case block.KindCount:
		s = map[string]any{"type": "integer", "minimum": *c.Least, "maximum": *c.Most}
	default:
		s = map[string]any{"type": "number", "minimum": *c.Least, "maximum": *c.Most}
		if len(c.Options) > 0 {
			s = map[string]any{"anyOf": []any{words, s}}
		}
	}
	s["description"] = c.Help
	s["default"] = c.Default
	return s
}
