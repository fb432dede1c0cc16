package proof

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// The built-in panel spans the size table and the shapes around it. Girths are
// those of EN 13402-3 (an encyclopaedia's article, from memory), in three
// heights. Further bodies are fuller and slimmer in waist and hip than the table,
// or differ by two standard deviations in one measure that the table leaves out.
// The model of bodies predicts all other measures (see body/population).

// size is one column of the table, cm.
type size struct{ bust, waist, hip float64 }

var womenSizes = []size{{76, 60, 84}, {80, 64, 88}, {84, 68, 92}, {88, 72, 96}, {92, 76, 100}, {96, 80, 104},
	{100, 84, 108}, {104, 88, 112},
	{110, 94, 117}, {116, 100, 122}, {122, 106, 127}, {128, 112, 132}, {134, 118, 137},
	{140, 124, 142}, {146, 130, 147}, {152, 136, 152}}

// The table for men has no hip: 0 stands for the prediction of the model.
var menSizes = []size{{84, 72, 0}, {88, 76, 0}, {92, 80, 0}, {96, 84, 0}, {100, 88, 0}, {104, 92, 0}, {108, 96, 0},
	{112, 100, 0}, {116, 104, 0}, {120, 108, 0}, {126, 114, 0}, {132, 120, 0}, {138, 126, 0}, {144, 132, 0}}

// people are one half of the panel.
type people struct {
	name    string
	groups  []string // of the model
	sizes   []size
	heights [3]float64 // cm
	shaped  []size     // sizes drafted in other shapes too
	varied  []size     // sizes with single measures varied
	middle  size       // bought most in most shops (from memory)
}

var (
	women = people{"women", []string{"women_trade", "women_large"}, womenSizes, [3]float64{156, 164, 176},
		[]size{womenSizes[2], womenSizes[4], womenSizes[7], womenSizes[10]},
		[]size{womenSizes[3], womenSizes[8]}, womenSizes[5]}
	men = people{"men", []string{"men"}, menSizes, [3]float64{168, 176, 188},
		[]size{menSizes[2], menSizes[5], menSizes[9]}, []size{menSizes[4], menSizes[8]}, menSizes[4]}
)

// shapes are the differences of waist and hip from the table, cm.
var shapes = []size{{0, -6, 0}, {0, 10, 0}, {0, 0, -6}, {0, 0, 8}}

// varied are the measures varied one by one.
var varied = []body.Name{body.ShoulderLength, body.BackWidthArmpitLevel, body.NapeToWaist, body.UpperArmGirth,
	body.NeckBaseGirth}

// predicted are the measures that the model predicts.
var predicted = []body.Name{body.NeckBaseGirth, body.ShoulderLength, body.BackWidthArmpitLevel, body.NapeToWaist,
	body.UpperArmGirth, body.WristGirth, body.ArmLength, body.HeadGirth, body.InsideLeg, body.ThighGirth,
	body.KneeGirth, body.CalfGirth, body.AnkleGirth}

// Panel returns the built-in panel for a block and the styles built on it:
// women, and men too if the block suits them. Of further required measurements
// it has those that the model knows, and a belly girth.
//
// Every third body comes again with some of the measurements given that are
// otherwise estimated, each off its estimate by up to two spreads, the same ones
// in each proof: real bodies differ from every estimate.
func Panel(blockName string, needed ...body.Name) []Body {
	bodies, men := Panels(needed...)
	if suitsMen(blockName, needed) {
		bodies = append(bodies, men...)
	}
	for i, b := range bodies {
		bodies[i].Given = expecting(b.Given, needed, float64(i%9)/8)
	}
	spec, ok := block.Find(blockName)
	if !ok {
		return bodies
	}
	requires, uses := spec.Requires, spec.Uses
	if !slices.Contains(needed, body.BellyGirth) { // a choice spares it
		requires = block.Without(requires, []body.Name{body.BellyGirth})
		uses = block.Without(uses, []body.Name{body.WaistToBelly})
	}
	for i, plain := 1, len(bodies); i < plain; i += 3 {
		b := bodies[i]
		d := draw{Rand: rand.New(rand.NewPCG(panelSeed, uint64(i)))}
		given := d.offEstimates(maps.Clone(b.Given), requires, uses)
		name := fmt.Sprintf("%s, %d measures off their estimates", b.Name, len(given)-len(b.Given))
		bodies = append(bodies, Body{Name: name, Given: given})
	}
	return bodies
}

// panelSeed makes the panel the same in every proof.
const panelSeed = 1

// Panels returns the women and the men of the built-in panel.
func Panels(needed ...body.Name) (ofWomen, ofMen []Body) {
	return women.panel(needed), men.panel(needed)
}

// SizeTable returns the bodies of the size table at its middle height, women's or men's,
// with the measurements that the model of bodies predicts for them. Each is named by its
// bust or chest girth in cm, as EN 13402-3 does.
func SizeTable(ofMen bool, needed ...body.Name) []Body {
	p := &women
	if ofMen {
		p = &men
	}
	var bodies []Body
	for _, s := range p.sizes {
		b := p.body(needed, s, p.heights[1], "", 0)
		b.Name = fmt.Sprintf("%g", s.bust)
		b.Given = expecting(b.Given, needed, 0.5)
		bodies = append(bodies, b)
	}
	return bodies
}

func (p *people) panel(needed []body.Name) []Body {
	var bodies []Body
	for _, s := range p.sizes {
		for _, h := range p.heights {
			bodies = append(bodies, p.body(needed, s, h, "", 0))
		}
	}
	middle := p.heights[1]
	for _, s := range p.shaped {
		if s.hip == 0 {
			s.hip = math.Round(p.body(needed, s, middle, "", 0).Given[body.HipGirth] / 10)
		}
		for _, d := range shapes {
			bodies = append(bodies, p.body(needed, size{s.bust, s.waist + d.waist, s.hip + d.hip}, middle, "", 0))
		}
	}
	for _, s := range p.varied {
		for _, n := range varied {
			bodies = append(bodies, p.body(needed, s, middle, n, -2), p.body(needed, s, middle, n, 2))
		}
	}
	return bodies
}

// body returns the body of a size and height in cm, with one measure changed by
// a number of standard deviations; "" changes none.
func (p *people) body(needed []body.Name, s size, height float64, changed body.Name, by float64) Body {
	m, err := population.People().Only(p.groups...)
	if err != nil {
		panic(err) // the model has these groups
	}
	given := body.Measures{body.Height: height * 10, body.BustGirth: s.bust * 10, body.WaistGirth: s.waist * 10}
	b := Body{Name: fmt.Sprintf("%s, bust %g, waist %g", p.name, s.bust, s.waist), Given: given}
	if s.hip > 0 {
		given[body.HipGirth] = s.hip * 10
		b.Name += fmt.Sprintf(", hip %g", s.hip)
	}
	b.Name += fmt.Sprintf(", height %g cm", height)
	var indices []int
	var logs []float64
	for _, n := range []body.Name{body.Height, body.BustGirth, body.WaistGirth, body.HipGirth} {
		if v, ok := given[n]; ok {
			indices, logs = append(indices, m.Index(string(n))), append(logs, math.Log(v))
		}
	}
	view := m.View(indices, logs)
	for _, n := range slices.Concat([]body.Name{body.HipGirth}, predicted, needed) {
		if _, ok := given[n]; ok || m.Index(string(n)) < 0 {
			continue
		}
		e := view.Predict(m.Index(string(n)))
		if n == changed {
			e.Mean += by * e.SD
			b.Name += fmt.Sprintf(", %s %+g sd", n, by)
		}
		given[n] = math.Round(math.Exp(e.Mean))
	}
	if changed == "" {
		b.plain = p
	}
	return b
}
