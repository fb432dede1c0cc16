package proof

import (
	"math"
	"slices"

	"tapeline/drafting/body"
)

// A Figure is a body of a panel that differs from the others in a way for which cutters
// have a word.
type Figure struct {
	Name string // such as full bust
	Body int    // index in the panel
}

// A rule finds a figure in one half of the panel: of the bodies that fit, the one that
// scores most; of those that score alike, the one nearest the middle.
type rule struct {
	name  string
	of    *people
	score func(m body.Measures) float64
}

// fullBust is the largest bust, mm, at which a figure is of full bust and not large.
const fullBust = 1100

func least(n body.Name) func(body.Measures) float64 {
	return func(m body.Measures) float64 { return -m[n] }
}

func most(n body.Name) func(body.Measures) float64 {
	return func(m body.Measures) float64 { return m[n] }
}

func middling(body.Measures) float64 { return 0 }

// The figures of garments for women, and of those for women and men.
var (
	womensFigures = []rule{
		{"small", &women, least(body.BustGirth)},
		{"middle", &women, middling},
		{"full bust", &women, func(m body.Measures) float64 {
			if m[body.BustGirth] > fullBust {
				return math.Inf(-1)
			}
			return m[body.BustGirth] - m[body.HipGirth]
		}},
		{"pear", &women, func(m body.Measures) float64 { return m[body.HipGirth] - m[body.BustGirth] }},
		{"large", &women, most(body.BustGirth)},
		{"tall", &women, most(body.Height)},
	}
	everyonesFigures = []rule{
		{"small woman", &women, least(body.BustGirth)},
		{"middle woman", &women, middling},
		{"pear", &women, func(m body.Measures) float64 { return m[body.HipGirth] - m[body.BustGirth] }},
		{"middle man", &men, middling},
		{"stout man", &men, func(m body.Measures) float64 { return m[body.WaistGirth] - m[body.BustGirth] }},
		{"tall man", &men, most(body.Height)},
	}
)

// Figures returns six bodies of a panel that differ: small, middle, full bust, pear, large
// and tall, or three women and three men if the panel has both. Bodies with measures off
// the table are none of them.
func Figures(panel []Body) []Figure {
	rules := womensFigures
	if slices.ContainsFunc(panel, func(b Body) bool { return b.plain == &men }) {
		rules = everyonesFigures
	}
	var figures []Figure
	for _, r := range rules {
		if i := r.find(panel); i >= 0 {
			figures = append(figures, Figure{r.name, i})
		}
	}
	return figures
}

// Middle returns the index of the middle body of a panel.
func Middle(panel []Body) int {
	for _, f := range Figures(panel) {
		if f.Name == "middle" || f.Name == "middle woman" {
			return f.Body
		}
	}
	return 0
}

func (r rule) find(panel []Body) int {
	best := -1
	for i, b := range panel {
		if b.plain != r.of {
			continue
		}
		if best < 0 || r.better(b.Given, panel[best].Given) {
			best = i
		}
	}
	return best
}

func (r rule) better(a, b body.Measures) bool {
	if x, y := r.score(a), r.score(b); x != y {
		return x > y
	}
	return r.fromMiddle(a) < r.fromMiddle(b)
}

// fromMiddle returns how far girths and height are from those of the middle, mm.
func (r rule) fromMiddle(m body.Measures) float64 {
	of := r.of.middle
	sum := math.Abs(10*of.bust-m[body.BustGirth]) + math.Abs(10*of.waist-m[body.WaistGirth]) +
		math.Abs(10*r.of.heights[1]-m[body.Height])
	if of.hip > 0 {
		sum += math.Abs(10*of.hip - m[body.HipGirth])
	}
	return sum
}
