package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

// Limits of darts, and of the centres that they turn.
const (
	widest     = 85.0 // degrees that a dart opens by at its point; wider it ends blunt, whatever the cloth (from memory)
	pointed    = 10.0 // mm before its point over which that is read: sewing tapers what is shorter
	grainTol   = 0.5  // degrees by which a straight centre seam may be off the grain
	grainMeant = 10.0 // degrees from which on it is meant to be, as in a panel with its grain down the middle
)

// bluntDarts returns the faults of darts that end blunt.
func bluntDarts(p pattern.Piece) []Fault {
	var all []Fault
	for _, d := range p.Darts {
		if d.Empty() || len(d.Legs[0]) == 0 || len(d.Legs[1]) == 0 {
			continue
		}
		open := openAt(d.Legs[0], d.Legs[1])
		if d.Mouth == "" { // pointed at both ends
			open = max(open, openAt(d.Legs[0].Reverse(), d.Legs[1].Reverse()))
		}
		if open > widest {
			all = append(all, Fault{ruleDart, fmt.Sprintf("%s: the %s ends blunt, at %.0f degrees; at most %.0f", p.Name,
				d.Name, open, widest)})
		}
	}
	return all
}

// openAt returns the angle in degrees between two legs of a dart where they end.
func openAt(a, b geom.Path) float64 {
	before := func(leg geom.Path) geom.Point {
		return leg.At(leg.Length() - min(pointed, leg.Length())).Sub(leg.End())
	}
	return math.Abs(degrees(geom.AngleBetween(before(a), before(b))))
}

// offGrain returns the faults of straight centre seams that were turned a little off the grain, as by a
// dart that was moved.
func offGrain(p pattern.Piece) []Fault {
	var all []Fault
	u := p.Grain.P3.Sub(p.Grain.P0)
	for i, e := range p.Edges {
		n := len(p.Edges)
		before, after := p.Edges[(i+n-1)%n].Role, p.Edges[(i+1)%n].Role
		opens := before == pattern.RoleDartMouth || after == pattern.RoleDartMouth // and turns a part of it
		if opens || !strings.HasPrefix(e.Run, "centre") || !e.Path.IsStraight(pattern.FoldTol) {
			continue
		}
		off := math.Abs(degrees(geom.AngleBetween(u, e.Path.End().Sub(e.Path.Start()))))
		off = min(off, 180-off)
		f := Fault{ruleGrain, fmt.Sprintf("%s: %s lies %.1f degrees off the grain", p.Name, e.Run, off)}
		if off > grainTol && off < grainMeant && !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	return all
}
