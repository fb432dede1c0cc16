package drafting

import (
	"tapeline/drafting/block"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// Find is the block or the style of that name: an order may be for either, and
// both need measurements, offer choices and have fits. A style is one of own,
// or else built in.
func Find(name string, own ...*style.Style) (block.Spec, bool) {
	if spec, ok := block.Find(name); ok {
		return spec, true
	}
	if s, ok := findStyle(name, own); ok {
		return s.Spec(), true
	}
	return block.Spec{}, false
}

// findStyle is the style of that slug: one of own, or else built in.
func findStyle(slug string, own []*style.Style) (*style.Style, bool) {
	for _, s := range own {
		if s.Head.Slug == slug {
			return s, true
		}
	}
	return style.Builtin(slug)
}

// Styles are the slugs of the built-in garments.
func Styles() []string {
	all, _ := style.Builtins() // tests hold that they compile
	slugs := make([]string, len(all))
	for i, s := range all {
		slugs[i] = s.Head.Slug
	}
	return slugs
}

// spec is what the order is for: its style, or else its block.
func (o Order) spec() (block.Spec, fault.List) {
	switch {
	case o.Style != "" && o.Block != "":
		return block.Spec{}, fault.List{{Code: fault.Choice, Field: "/block", Value: fault.Shorten(o.Block),
			Accepted: "no block beside a style, which says itself what it is built on"}}
	case o.Style != "":
		s, ok := findStyle(o.Style, o.Own)
		if !ok {
			return block.Spec{}, fault.List{choiceFault("/style", o.Style, Styles())}
		}
		return s.Spec(), nil
	}
	spec, ok := block.Find(o.Block)
	if !ok {
		return block.Spec{}, fault.List{choiceFault("/block", o.Block, blockNames())}
	}
	return spec, nil
}

// subject names what the order is for in a fault.
func (o Order) subject() string {
	if o.Style != "" {
		return "the " + o.Style + " style"
	}
	return "the " + o.Block + " block"
}
