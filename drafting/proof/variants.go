package proof

import (
	"fmt"
	"math/rand/v2"
	"strconv"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// Base returns the order that proves a block or a style, without body, fit and
// choices.
func Base(name string, own ...*style.Style) drafting.Order {
	o := drafting.Order{Label: drafting.Label{Reference: "proof", Revision: 1}, Unit: body.Centimetre}
	if _, ok := block.Find(name); ok {
		o.Block = name
		return o
	}
	o.Style = name
	for _, s := range own {
		if s.Head.Slug == name {
			o.Garment = s
		}
	}
	return o
}

// Every returns all variants in which a block or style must be proved: each fit
// with the default choices, with each choice in turn at its ends and options,
// and with all choices at their first and at their last value; and mixes of
// choices at random, the same ones in each proof.
func Every(spec block.Spec, base drafting.Order) []Variant {
	var variants []Variant
	for _, f := range spec.Fits {
		for _, e := range Ends(spec) {
			o := base
			o.Fit, o.Choices = f.Name, e.Choices
			name := f.Name
			if e.Name != "" {
				name += " " + e.Name
			}
			variants = append(variants, Variant{Name: name, Order: o, Sheets: e.Name == ""})
		}
	}
	if len(spec.Choices) > 1 {
		for i := range mixes {
			variants = append(variants, mix(spec, base, i))
		}
	}
	return variants
}

// mixes is the number of mixes of choices in which a style is proved.
const mixes = 12

// mix returns a variant with choices at random, two of three of them given.
func mix(spec block.Spec, base drafting.Order, i int) Variant {
	d := draw{Rand: rand.New(rand.NewPCG(panelSeed, uint64(i)))}
	o := base
	o.Fit, o.Choices = spec.Fits[i%len(spec.Fits)].Name, d.choices(spec)
	name := fmt.Sprintf("%s mix %d", o.Fit, i+1)
	for _, c := range spec.Choices {
		if v, ok := o.Choices[c.Name]; ok {
			name += " " + c.Name + "=" + valueText(c, v)
		}
	}
	return Variant{Name: name, Order: o}
}

// An End is a named set of choices.
type End struct {
	Name    string
	Choices map[string]block.Value
}

// Ends returns the default choices, each choice in turn at its ends and options,
// and all choices at their first and at their last value.
func Ends(spec block.Spec) []End {
	all := []End{{}}
	first, last := map[string]block.Value{}, map[string]block.Value{}
	for _, c := range spec.Choices {
		values := endsOf(c)
		for _, v := range values {
			if v != c.Default {
				all = append(all, End{c.Name + "=" + valueText(c, v), map[string]block.Value{c.Name: v}})
			}
		}
		first[c.Name], last[c.Name] = values[0], values[len(values)-1]
	}
	if len(spec.Choices) > 1 {
		all = append(all, End{"all at their first", first}, End{"all at their last", last})
	}
	return all
}

func endsOf(c block.Choice) []block.Value {
	var values []block.Value
	for _, w := range c.Options {
		values = append(values, block.Value{Word: w})
	}
	switch c.Kind {
	case block.KindLength, block.KindCount, block.KindFraction:
		values = append(values, block.Value{Number: c.Min}, block.Value{Number: c.Max})
	}
	return values
}

func valueText(c block.Choice, v block.Value) string {
	switch {
	case v.Word != "":
		return v.Word
	case c.Kind == block.KindLength:
		return body.Centimetre.Format(v.Number)
	}
	return strconv.FormatFloat(v.Number, 'g', -1, 64)
}

// Fits returns each fit of a block or style with its default choices.
func Fits(spec block.Spec, base drafting.Order) []Variant {
	variants := make([]Variant, len(spec.Fits))
	for i, f := range spec.Fits {
		base.Fit = f.Name
		variants[i] = Variant{Name: f.Name, Order: base}
	}
	return variants
}
