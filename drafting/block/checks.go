package block

import (
	"fmt"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
)

// CheckTolerance is the largest accepted difference in mm between a drafted
// measure and its target.
const CheckTolerance = 0.5

// checks collects the measures read back from a draft and what is wrong with
// it.
type checks struct {
	person     body.Body
	alteration func(body.Name) float64 // what alterations add to a measure; nil for none
	list       []pattern.Check
	broken     []string // rules of the outline that do not hold
	escaped    []string // darts that leave their piece
}

// judge checks darts, outlines and seams, writes all checks into the pattern
// and returns a *CheckError if one fails. If a dart leaves its piece it refuses
// the body and names the measurements noRoom.
func (c *checks) judge(p *pattern.Pattern, noRoom ...body.Name) error {
	for _, q := range p.Pieces {
		c.darts(q)
		c.outline(q)
	}
	c.seams(p)
	p.Checks = c.list
	if len(c.escaped) > 0 {
		return refuse(fmt.Sprintf("no room for the dart: %s would reach out of the piece", strings.Join(c.escaped, ", ")),
			noRoom...)
	}
	if failed := c.failed(); len(failed) > 0 || len(c.broken) > 0 {
		return &CheckError{Failed: failed, Broken: c.broken}
	}
	return nil
}

// failed returns the checks beyond their tolerance.
func (c *checks) failed() []pattern.Check {
	var failed []pattern.Check
	for _, k := range c.list {
		if !(abs(k.Difference()) <= k.Tolerance) {
			failed = append(failed, k)
		}
	}
	return failed
}

// measure adds a check of a body measurement with its ease.
func (c *checks) measure(n body.Name, ease, drafted float64) {
	m, altered := c.person.Get(n), 0.0
	if c.alteration != nil {
		altered = c.alteration(n)
	}
	c.list = append(c.list, pattern.Check{Name: string(n), Body: m.Value, Alteration: altered, Ease: ease,
		Target: m.Value + altered +
			ease, Drafted: drafted, Tolerance: CheckTolerance, Estimated: m.Estimated, Spread: m.Spread})
}

// pair adds a check of two lengths on the draft that must be equal except for
// the ease.
func (c *checks) pair(name string, base, ease, drafted float64) {
	c.list = append(c.list, pattern.Check{Name: name, Ease: ease,
		Target: base + ease, Drafted: drafted, Tolerance: CheckTolerance})
}

// atLeast adds a check of a body measurement for which the draft must have at
// least the ease. It does nothing if the body has no such measurement. The ease
// shown is the ease of the draft.
func (c *checks) atLeast(n body.Name, ease, drafted float64) {
	m := c.person.Get(n)
	if m.Value <= 0 {
		return
	}
	target := max(m.Value+ease, drafted)
	c.list = append(c.list, pattern.Check{Name: string(n), Body: m.Value, Ease: target - m.Value,
		Target: target, Drafted: drafted, Tolerance: CheckTolerance, Estimated: m.Estimated, Spread: m.Spread})
}

// darts checks each dart's legs against each other.
func (c *checks) darts(p pattern.Piece) {
	for _, d := range p.Darts {
		if d.Empty() {
			continue
		}
		c.pair(p.Name+"/"+d.Name+"_legs", d.Legs[0].Length(), 0, d.Legs[1].Length())
	}
}

// seams checks both sides of each seam.
func (c *checks) seams(p *pattern.Pattern) {
	for _, s := range p.Seams {
		if s.A == s.B {
			continue
		}
		a, okA := edgeOf(p, s.A)
		b, okB := edgeOf(p, s.B)
		if !okA || !okB {
			c.broken = append(c.broken, fmt.Sprintf("seam %s to %s: the pattern lacks one of these edges", s.A, s.B))
			continue
		}
		c.pair(fmt.Sprintf("seam %s to %s", s.A, s.B), b.Path.Length(), s.Ease, a.Path.Length())
	}
}

func edgeOf(p *pattern.Pattern, r pattern.EdgeRef) (pattern.Edge, bool) {
	q, ok := p.Piece(r.Piece)
	if !ok {
		return pattern.Edge{}, false
	}
	return q.Edge(r.Edge)
}

// outline records the rules that a piece's outline breaks and the darts that
// leave it.
func (c *checks) outline(p pattern.Piece) {
	broken := p.ValidateOutline()
	for _, v := range broken {
		c.broken = append(c.broken, v.Error())
	}
	if len(broken) > 0 {
		return
	}
	for _, d := range p.Darts {
		if !p.HoldsDart(d) {
			c.escaped = append(c.escaped, p.Name+"/"+d.Name)
		}
	}
}
