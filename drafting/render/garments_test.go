package render

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	styles "tapeline/drafting/style"
)

// garment is a pattern by name.
type garment struct {
	name string
	finish.Pattern
}

// garments are what every format is read back of: the project's sample orders,
// every built-in style, and the torso in variants that change what its pieces
// are made of. TAPELINE_WHOLE=1 adds every option of every style, one at a
// time, and all the torso's variants. They are not to be changed.
func garments(t testing.TB) []garment {
	t.Helper()
	all, err := allGarments()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

var allGarments = sync.OnceValues(func() ([]garment, error) {
	files, err := filepath.Glob("../../testdata/orders/*.json")
	if err != nil || len(files) == 0 {
		return nil, fmt.Errorf("no sample orders: %v", err)
	}
	slices.Reverse(files) // trousers and torso first: tests try more on the first two than on the rest
	var all []garment
	add := func(name string, o drafting.Order) error {
		p, err := drafting.Draft(o)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, garment{name, p})
		return nil
	}
	orders := make(map[string]drafting.Order)
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		if orders[name], err = drafting.ParseOrder(data); err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		if err := add(name, orders[name]); err != nil {
			return nil, err
		}
	}
	for _, slug := range drafting.Styles() {
		variants, err := styleOrders(slug, orders["shift-dress"], orders["straight-inch"])
		if err != nil {
			return nil, err
		}
		for _, name := range slices.Sorted(maps.Keys(variants)) {
			if err := add(name, variants[name]); err != nil {
				return nil, err
			}
		}
	}
	for name, o := range torsoOrders(orders["torso"]) {
		if err := add(name, o); err != nil {
			return nil, err
		}
	}
	return all, nil
})

func whole() bool { return os.Getenv("TAPELINE_WHOLE") != "" }

// styleOrders are orders for a style as it comes, and for each of its options.
// The body is that of one of two orders, with what else is asked for estimated.
func styleOrders(slug string, her, him drafting.Order) (map[string]drafting.Order, error) {
	s, ok := styles.Builtin(slug)
	if !ok {
		return nil, fmt.Errorf("no style %s", slug)
	}
	o := drafting.Order{Reference: "ORD-2077", Customer: "CUST-0309", Date: "2026-03-02", Revision: 1, Unit: body.Centimetre, Style: slug}
	measures := maps.Clone(her.Measurements)
	if s.Head.Block == "straight" {
		measures = maps.Clone(him.Measurements)
	}
	spec := s.Spec()
	person, faults := body.NewIn(body.Millimetre, measures, nil, spec.Requires)
	if len(faults) > 0 {
		return nil, faults
	}
	for _, n := range spec.Requires {
		measures[n] = person.Value(n)
	}
	o.Measurements = measures
	variants := map[string]drafting.Order{slug: o}
	if !whole() {
		return variants, nil
	}
	for _, c := range spec.Choices {
		for _, word := range c.Options {
			v := o
			v.Choices = map[string]block.Value{c.Name: {Word: word}}
			variants[slug+" "+c.Name+" "+word] = v
		}
	}
	return variants, nil
}

// torsoOrders are the sample order with its darts and centres changed, and one
// without allowances.
func torsoOrders(o drafting.Order) func(yield func(string, drafting.Order) bool) {
	return func(yield func(string, drafting.Order) bool) {
		for i, dart := range []string{"side", "shoulder", "armhole", "neck", "waist", "centre_front"} {
			for k, centres := range [][2]string{{"fold", "fold"}, {"fold", "seam"}, {"seam", "fold"}, {"seam", "seam"}} {
				front, back := centres[0], centres[1]
				if dart == "centre_front" && front == "fold" || !whole() && i%4 != k {
					continue // it opens at a seam
				}
				v := o
				v.Choices = maps.Clone(o.Choices)
				v.Choices["bust_dart"] = block.Value{Word: dart}
				v.Choices["centre_front"] = block.Value{Word: front}
				v.Choices["centre_back"] = block.Value{Word: back}
				if !yield(fmt.Sprintf("torso %s %s %s", dart, front, back), v) {
					return
				}
			}
		}
		bare := o
		bare.Allowances = map[string]float64{"default": 0, "hem": 0, "neckline": 0, "cap": 0, "armhole": 0}
		yield("torso without allowances", bare)
	}
}
