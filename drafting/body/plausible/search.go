package plausible

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// search is the weighing of one set.
type search struct {
	*Checker
	unit    body.Unit
	entries []entry
	view    *population.View
	base    float64   // logarithm of the density of the set as it stands
	fields  []verdict // by position
	set     verdict   // on claims about all numbers at once
}

// verdict gathers the claims against one number.
type verdict struct {
	best claim
	odds float64 // sum over the claims, not a logarithm
}

func (v *verdict) add(c claim) {
	if v.odds == 0 || c.odds > v.best.odds {
		v.best = c
	}
	v.odds += math.Exp(c.odds)
}

// weigh looks at the entries as they stand and at every single mistake. What
// can't reach the level of a note is left out.
func (c *Checker) weigh(unit body.Unit, entries []entry) *search {
	k := len(entries)
	given, logs := make([]int, k), make([]float64, k)
	for i, e := range entries {
		given[i], logs[i] = e.index, e.log
	}
	s := &search{Checker: c, unit: unit, entries: entries, view: c.model.View(given, logs), fields: make([]verdict, k)}
	s.base = s.view.Density()
	s.wholeSet()
	for i := range entries {
		s.field(i)
		for j := range i {
			s.exchange(i, j)
		}
	}
	return s
}

func (s *search) field(at int) {
	e := s.entries[at]
	without := s.view.Without(at) - s.base
	expected := s.view.Expect(at)
	s.fields[at].add(claim{kind: Slip, at: at, other: -1,
		odds: prior(Slip, 1) + without + slipDensity(e.log-expected.Mean)})
	// No number is likelier than the likeliest; twenty claims (e³) add up to less than a note.
	if s.view.Best(at)-s.base+prior(Slip, 1) < math.Log(s.levels.Note)-3 {
		return
	}
	s.corrections(s.unit, e, func(kind Explanation, mm, of float64) {
		by := math.Log(mm) - e.log
		odds := prior(kind, of) + s.view.Density(population.Change{At: at, By: by}) - s.base
		switch kind {
		case DigitsSwapped, LeadingDigit, TenOff:
			odds -= by // as many numbers come from a stretch of large ones as of small
		}
		s.fields[at].add(claim{kind: kind, at: at, other: -1, mm: mm, odds: odds})
	})
}

func (s *search) exchange(i, j int) {
	a, b := s.entries[i], s.entries[j]
	if s.measures[a.index].info.Unit != s.measures[b.index].info.Unit || a.mm == b.mm {
		return
	}
	by := b.log - a.log
	odds := prior(Exchanged, float64(len(s.entries)-1)) + s.view.Density(population.Change{At: i, By: by}, population.Change{At: j, By: -by}) - s.base
	if odds < math.Log(s.levels.Note)-3 {
		return
	}
	s.fields[i].add(claim{kind: Exchanged, at: i, other: j, mm: b.mm, odds: odds})
	s.fields[j].add(claim{kind: Exchanged, at: j, other: i, mm: a.mm, odds: odds})
}

// wholeSet asks whether every length is in the other unit.
func (s *search) wholeSet() {
	changes := make([]population.Change, 0, len(s.entries))
	by := inch
	if s.unit == body.Inch {
		by = -inch
	}
	for i, e := range s.entries {
		if s.measures[e.index].info.Unit != body.Degree {
			changes = append(changes, population.Change{At: i, By: by})
		}
	}
	if len(changes) < 2 {
		return
	}
	s.set.add(claim{kind: AllOtherUnit, at: -1, other: -1, odds: prior(AllOtherUnit, 1) + s.view.Density(changes...) - s.base})
}
