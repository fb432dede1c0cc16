package plausible

import (
	"math"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

// search weighs the possible mistakes in one set.
type search struct {
	*Assessor
	unit    body.Unit
	entries []entry
	view    *population.View
	base    float64  // logarithm of the density of the entries
	fields  []claims // by position
	set     claims   // about all numbers at once
}

// claims sums the claims against one number.
type claims struct {
	best claim
	odds float64 // sum of the odds, not a logarithm
}

func (v *claims) add(c claim) {
	if v.odds == 0 || c.odds > v.best.odds {
		v.best = c
	}
	v.odds += math.Exp(c.odds)
}

// weigh weighs every single mistake against no mistake. It omits mistakes that
// cannot reach the level of a note.
func (a *Assessor) weigh(unit body.Unit, entries []entry) *search {
	k := len(entries)
	given, logs := make([]int, k), make([]float64, k)
	for i, e := range entries {
		given[i], logs[i] = e.index, e.log
	}
	view := a.model.View(given, logs)
	s := &search{
		Assessor: a, unit: unit, entries: entries, view: view, base: view.Density(), fields: make([]claims, k),
	}
	s.weighSet()
	for i := range entries {
		s.weighField(i)
		for j := range i {
			s.weighExchange(i, j)
		}
	}
	return s
}

func (s *search) weighField(at int) {
	e := s.entries[at]
	without := s.view.Without(at) - s.base
	expected := s.view.Expect(at)
	s.fields[at].add(claim{kind: Slip, at: at, other: -1,
		odds: prior(Slip, 1) + without + slipDensity(e.log-expected.Mean)})
	if s.view.Best(at)-s.base+prior(Slip, 1) < s.negligible() {
		return
	}
	s.corrections(s.unit, e, func(kind Explanation, mm, alternatives float64) {
		by := math.Log(mm) - e.log
		odds := prior(kind, alternatives) + s.view.Density(population.Change{At: at, By: by}) - s.base
		switch kind {
		case DigitsSwapped, LeadingDigit, TenOff:
			odds -= by // wrong digits spread evenly over numbers, not over their logarithms
		}
		s.fields[at].add(claim{kind: kind, at: at, other: -1, mm: mm, odds: odds})
	})
}

// negligible returns the logarithm of odds at which even twenty claims (about
// e³) add up to less than a note.
func (s *search) negligible() float64 { return math.Log(s.levels.Note) - 3 }

func (s *search) weighExchange(i, j int) {
	a, b := s.entries[i], s.entries[j]
	if s.measures[a.index].info.Unit != s.measures[b.index].info.Unit || a.mm == b.mm {
		return
	}
	by := b.log - a.log
	exchanged := s.view.Density(population.Change{At: i, By: by}, population.Change{At: j, By: -by})
	odds := prior(Exchanged, float64(len(s.entries)-1)) + exchanged - s.base
	if odds < s.negligible() {
		return
	}
	s.fields[i].add(claim{kind: Exchanged, at: i, other: j, mm: b.mm, odds: odds})
	s.fields[j].add(claim{kind: Exchanged, at: j, other: i, mm: a.mm, odds: odds})
}

// weighSet weighs whether every length is in the other unit.
func (s *search) weighSet() {
	changes := make([]population.Change, 0, len(s.entries))
	by := math.Log(2.54)
	if s.unit == body.Inch {
		by = -by
	}
	for i, e := range s.entries {
		if s.measures[e.index].info.Unit != body.Degree {
			changes = append(changes, population.Change{At: i, By: by})
		}
	}
	if len(changes) < 2 {
		return
	}
	odds := prior(AllOtherUnit, 1) + s.view.Density(changes...) - s.base
	s.set.add(claim{kind: AllOtherUnit, at: -1, other: -1, odds: odds})
}
