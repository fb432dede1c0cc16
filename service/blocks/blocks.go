// Package blocks describes the blocks that can be ordered.
package blocks

import (
	"slices"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/style"
	"tapeline/service"
)

// Unit is a unit of length: cm or inch.
type Unit = body.Unit

// Block is a base pattern that an order or a style can name. Lengths are in mm.
type Block struct {
	Name        string
	Title       string
	Requires    []string // measurements
	Uses        []string // measurements, estimated if they are not given
	Fits        []Fit    // the first is the default
	Choices     []Choice
	Excludes    []Exclusion
	Alterations []Alteration
}

// Exclusion is the option of a choice that is not accepted beside an option of
// another.
type Exclusion struct {
	Choice, Option, Beside, Chosen string
}

// Fit is a table of ease.
type Fit struct {
	Name string
	Ease []Ease
}

// Ease is the ease of one measurement in a fit, and its limits in an order.
type Ease struct {
	Name            string
	Value, Min, Max float64
}

// Choice is a decision that an order can make about a block.
type Choice struct {
	Name     string
	Kind     string
	Default  any // a string or a number
	Options  []string
	Min, Max float64
	Help     string
	Spares   map[string][]string // by option, measurements that it makes unnecessary

	FollowsBody bool // the measurements of an order narrow Min and Max
}

// Alteration is a correction that a block accepts.
type Alteration struct {
	Name     string
	Min, Max float64
	Sided    bool // may differ between left and right
	Help     string
}

// List returns all blocks.
func List() []Block {
	var list []Block
	for _, spec := range block.Specs() {
		list = append(list, fromSpec(spec))
	}
	return list
}

// Get returns a block by name. It fails with CodeNotFound.
func Get(name string) (Block, error) {
	spec, ok := block.Find(name)
	if !ok {
		return Block{}, service.NotFound("block")
	}
	return fromSpec(spec), nil
}

// Form returns the JSON Schema of an order for a block, with lengths in unit. It
// fails with CodeNotFound.
func Form(name string, unit Unit) (map[string]any, error) {
	spec, ok := block.Find(name)
	if !ok {
		return nil, service.NotFound("block")
	}
	return style.BlockForm(spec, unit), nil
}

func fromSpec(spec block.Spec) Block {
	b := Block{Name: spec.Name, Title: spec.Title, Requires: words(spec.Requires), Uses: words(spec.Uses)}
	for _, f := range spec.Fits {
		fit := Fit{Name: f.Name}
		for _, e := range f.Ease {
			fit.Ease = append(fit.Ease, Ease{Name: e.Name, Value: e.Value, Min: e.Min, Max: e.Max})
		}
		b.Fits = append(b.Fits, fit)
	}
	for _, c := range spec.Choices {
		choice := Choice{
			Name: c.Name, Kind: string(c.Kind), Default: c.Default.Number, Options: c.Options, Min: c.Min, Max: c.Max,
			Help: c.Help, FollowsBody: c.FollowsBody(),
		}
		for word, spared := range c.Spares {
			if choice.Spares == nil {
				choice.Spares = map[string][]string{}
			}
			names := slices.Concat(spared.Estimated, spared.Unused)
			choice.Spares[word] = words(slices.DeleteFunc(names, func(n body.Name) bool {
				return !slices.Contains(spec.Requires, n)
			}))
		}
		if c.Default.Word != "" {
			choice.Default = c.Default.Word
		}
		b.Choices = append(b.Choices, choice)
	}
	for _, e := range spec.Excludes {
		b.Excludes = append(b.Excludes, Exclusion{e.Choice, e.Word, e.Beside, e.Chosen})
	}
	for _, a := range spec.Alterations {
		b.Alterations = append(b.Alterations, Alteration{Name: a.Name, Min: a.Min, Max: a.Max, Sided: a.Sided, Help: a.Help})
	}
	return b
}

func words(names []body.Name) []string {
	var list []string
	for _, n := range names {
		list = append(list, string(n))
	}
	return list
}
