package render

import (
	"context"
	"errors"
	"fmt"
	"iter"
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
	"tapeline/drafting/ordertest"
	styles "tapeline/drafting/style"
)

// garment is a pattern by name.
type garment struct {
	name string
	finish.Pattern
}

// garments are the patterns that every format is tested with: the project's sample orders,
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
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, errors.New("no sample orders")
	}
	slices.Reverse(files) // trousers and torso first: tests try more on the first two than on the rest
	var all []garment
	add := func(name string, o drafting.Order) error {
		p, err := drafting.Draft(context.Background(), o)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, garment{name, p.Lettered()})
		return nil
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".json")
		o, err := ordertest.Read(name)
		if err == nil {
			err = add(name, o)
		}
		if err != nil {
			return nil, err
		}
	}
	for _, slug := range drafting.Styles() {
		o, err := styleOrder(slug)
		if err != nil {
			return nil, err
		}
		for name, variant := range styleOrders(o) {
			if err := add(name, variant); err != nil {
				return nil, err
			}
		}
	}
	o, err := ordertest.Read("torso")
	if err != nil {
		return nil, err
	}
	for name, o := range torsoOrders(o) {
		if err := add(name, o); err != nil {
			return nil, err
		}
	}
	return all, nil
})

func whole() bool { return os.Getenv("TAPELINE_WHOLE") != "" }

// someGarments returns every third garment, from the first or the second, or all of them if
// TAPELINE_WHOLE is set. Tests that read every format back take turns.
func someGarments(t *testing.T, from int) (some []garment) {
	t.Helper()
	for i, g := range garments(t) {
		if i%3 == from || whole() {
			some = append(some, g)
		}
	}
	return some
}

// styleOrder is an order for a style as it comes. The body is that of a sample
// order, with what else is asked for estimated.
func styleOrder(slug string) (drafting.Order, error) {
	s, ok := styles.Builtin(slug)
	if !ok {
		return drafting.Order{}, fmt.Errorf("no style %s", slug)
	}
	like := "shift-dress"
	if s.Head.Block == "straight" || s.Head.Block == "jacket" {
		like = "straight-inch"
	}
	o, err := ordertest.Read(like)
	if err != nil {
		return drafting.Order{}, err
	}
	requires := s.Spec().Requires
	if slices.Contains(requires, body.BellyGirth) {
		o.Measurements[body.BellyGirth] = o.Measurements[body.WaistGirth] + 200 // not estimated
	}
	person, faults := body.NewIn(body.Millimetre, o.Measurements, nil, requires)
	if len(faults) > 0 {
		return drafting.Order{}, faults
	}
	for _, n := range requires {
		o.Measurements[n] = person.Value(n)
	}
	return drafting.Order{Label: drafting.Label{Reference: "ORD-2077", Customer: "CUST-0309", Date: "2026-03-02",
		Revision: 1},
		Unit: body.Centimetre, Measurements: o.Measurements, Style: slug}, nil
}

// styleOrders are the order for a style as it comes and, of the whole, one for
// each of its options.
func styleOrders(o drafting.Order) iter.Seq2[string, drafting.Order] {
	return func(yield func(string, drafting.Order) bool) {
		if !yield(o.Style, o) || !whole() {
			return
		}
		s, _ := styles.Builtin(o.Style)
		for _, c := range s.Spec().Choices {
			for _, word := range c.Options {
				v := o
				v.Choices = map[string]block.Value{c.Name: {Word: word}}
				if !yield(o.Style+" "+c.Name+" "+word, v) {
					return
				}
			}
		}
	}
}

// torsoOrders are the sample order with its darts and centres changed, and one
// without allowances.
func torsoOrders(o drafting.Order) iter.Seq2[string, drafting.Order] {
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
