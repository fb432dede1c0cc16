package drafting

import (
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// Find returns the block or the style of that name: an order may be for either,
// and both need measurements, offer choices and have fits. A style is one of
// styles, which come first, or built in.
func Find(name string, styles ...*style.Style) (block.Spec, bool) {
	if spec, ok := block.Find(name); ok {
		return spec, true
	}
	if s, ok := findStyle(name, styles); ok {
		return s.Spec(), true
	}
	return block.Spec{}, false
}

// BlockOf returns the name of the block that a style is built on, or of the block
// itself; "" if there is neither. A style is one of styles, which come first, or
// built in.
func BlockOf(name string, styles ...*style.Style) string {
	if _, ok := block.Find(name); ok {
		return name
	}
	if s, ok := findStyle(name, styles); ok {
		return s.Head.Block
	}
	return ""
}

// findStyle returns the style of that slug: one of styles, or built in.
func findStyle(slug string, styles []*style.Style) (*style.Style, bool) {
	for _, s := range styles {
		if s.Head.Slug == slug {
			return s, true
		}
	}
	return style.Builtin(slug)
}

// FindBlock returns the block of that name, or the fault that there is none at
// the JSON pointer field.
func FindBlock(field, name string) (block.Spec, fault.List) {
	if spec, ok := block.Find(name); ok {
		return spec, nil
	}
	return block.Spec{}, fault.List{choiceFault(field, name, blockNames())}
}

// Styles lists the slugs of the built-in garments.
func Styles() []string {
	all, _ := style.Builtins() // tests hold that they compile
	slugs := make([]string, len(all))
	for i, s := range all {
		slugs[i] = s.Head.Slug
	}
	return slugs
}

// Spec returns what the order's style, or its block, needs and offers.
func (o Order) Spec() (block.Spec, fault.List) {
	switch {
	case o.Style != "" && o.Block != "":
		return block.Spec{}, fault.List{{Code: fault.Choice, Field: "/block", Value: fault.Shorten(o.Block),
			Accepted: "no block beside a style, which says itself what it is built on"}}
	case o.Garment != nil:
		return o.Garment.Spec(), nil
	case o.Style != "":
		s, ok := style.Builtin(o.Style)
		if !ok {
			return block.Spec{}, fault.List{choiceFault("/style", o.Style, Styles())}
		}
		return s.Spec(), nil
	}
	return FindBlock("/block", o.Block)
}

// Needs returns the measurements that the order must give with its choices, and
// those that are used and estimated where it does not give them. spec is that of
// its block or style.
func (o Order) Needs(spec block.Spec) (requires, uses []body.Name) {
	if o.Garment != nil {
		return o.Garment.Needs(o.Choices)
	}
	if s, ok := style.Builtin(o.Style); ok {
		return s.Needs(o.Choices)
	}
	return spec.Needs(o.Choices)
}

// subject names what the order is for in a fault.
func (o Order) subject() string {
	if o.Style != "" {
		return "the " + o.Style + " style"
	}
	return "the " + o.Block + " block"
}

// choiceFault is the fault of a word that is absent or not one of those
// accepted.
func choiceFault(field, word string, accepted []string) fault.Fault {
	if word == "" {
		return fault.Fault{Code: fault.Missing, Field: field, Accepted: "required: " + orList(accepted)}
	}
	return fault.Fault{Code: fault.Choice, Field: field, Value: fault.Shorten(word), Accepted: orList(accepted)}
}

// orList writes words as "a, b or c".
func orList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

func unitNames() []string {
	var names []string
	for _, u := range body.OrderUnits() {
		names = append(names, string(u))
	}
	return names
}

func blockNames() []string {
	var names []string
	for _, s := range block.Specs() {
		names = append(names, s.Name)
	}
	return names
}
