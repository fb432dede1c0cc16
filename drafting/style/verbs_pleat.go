package style

import (
	"math"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
)

var pleatVerbs = []declaration{
	{"Darts", `pleat(piece, name, edge, at length, width length, depth length, to start|end="end", foot length=None, ` +
		`down_to edge="") piece`,
		`Lay the pleat {name} into the {edge} of {piece}, from {at} along, {width} wide and {depth} long[, towards its ` +
			`{to}][, {foot} wide at its foot][, folded on down to the {down_to}].`,
		`Lays a pleat: width mm of an edge, from at mm along it, folded along two lines depth mm long. The first line is ` +
			`laid on the second, to="start" the second on the first; an arrow says so. Its ends are notched. As sewn the ` +
			`edge is shorter by the width. At the ends of the lines the pleat is foot mm wide, without it as wide as at ` +
			`the edge: a pleat of a skirt is wider at the waist than at the hip. With down_to the lines go on to that ` +
			`edge as folds, and are notched there. pleats lays a whole run of them.`,
		newPleat},
	{"Darts", `pleats(piece, name, edge, depth length, kind knife|box|inverted="knife", count=None, ` +
		`distance length=None, width length=None, foot length=None, down_to edge="", to start|end="end", ` +
		`halved start|end|both="", start length=0, end length=0) piece`,
		`Lay {kind} pleats named {name} into the {edge} of {piece}, {depth} long[, {count} of them][, {distance} apart as ` +
			`seen][, each {width} wide][, {foot} wide at their foot][, folded on down to the {down_to}][, towards its {to}]` +
			`[, half a pleat at {halved}][, from {start} along][, to {end} before its end].`,
		`Lays a run of equal pleats: count of them, or as many as are seen nearest to distance mm wide, from start mm ` +
			`along the edge to end mm before its end. Each takes width mm of the edge; without it the pleats are closed: ` +
			`each fold ends where the next begins, and they take cloth of three times their finished width. "knife" ` +
			`folds all lie to one side, towards the end of the edge or its start, as to says. A "box" pleat is two folds ` +
			`that turn away from each other and meet behind, an "inverted" pleat two that meet in front. The run begins ` +
			`and ends between two pleats; with halved it begins or ends in the middle of one, of which the other half lies ` +
			`beyond the fold or seam there (half an inverted pleat needs a fold). Closed box pleats are halved, or begin ` +
			`at a fold. depth, foot and down_to are those of pleat: foot is the width of a whole pleat at the ends of the ` +
			`lines. The pleats are named name_1 and so on, the two folds of one name_1_start and name_1_end. Pleats that ` +
			`are deeper than closed ones at their foot would lie on each other, and are refused.`,
		newPleats},
	{"Darts", `sunray(piece, name, edge, down_to edge, count, sewn length, depth length=40) piece`,
		`Lay {count} sunray pleats named {name} into {piece}, from its {edge}, {sewn} as sewn, to its {down_to}[, tacked ` +
			`{depth} deep].`,
		`Lays pleats on lines from the centre of a circle, of which the edge is an arc, such as the waist of the ` +
			`circle_skirt block: all turn by the same angle and are the deeper the farther down. The edge is sewn mm long ` +
			`when they are laid, at least a third of its length; half a distance is left at both ends. The lines run on ` +
			`to down_to and are notched there. Draft the circle for the waist times the fullness.`,
		newSunray},
}

func newPleat(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at cutting.Position
	var width, depth float64
	to := towardsEnd
	var foot optional
	var downTo string
	err := c.unpack(&p, &name, &at.Run, &at.At, &width, &depth, &to, &foot, &downTo)
	if err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	if to != towardsEnd && to != towardsStart {
		return nil, c.errorf("to=%q; want end or start", to)
	}
	s := cutting.Pleat{Name: name, At: at, Width: width, Depth: depth, Foot: width, ToStart: to == towardsStart,
		Run: downTo}
	if foot.given {
		s.Foot = foot.value
	}
	return p.replace(cutting.AddPleat(p.Piece, s))
}

func newPleats(c *call) (starlark.Value, error) {
	var p *piece
	var kind, halved string
	var count, distance, width, foot optional
	var end float64
	to := towardsEnd
	s := cutting.PleatRun{Kind: cutting.KnifePleats}
	err := c.unpack(&p, &s.Name, &s.Run, &s.Depth, &kind, &count, &distance, &width, &foot, &s.DownTo, &to, &halved,
		&s.From, &end)
	if err != nil {
		return nil, err
	}
	if err := checkName(s.Name); err != nil {
		return nil, err
	}
	if kind != "" {
		s.Kind = cutting.PleatKind(kind)
	}
	if to != towardsEnd && to != towardsStart {
		return nil, c.errorf("to=%q; want end or start", to)
	}
	switch halved {
	case "", towardsStart, towardsEnd, "both":
	default:
		return nil, c.errorf("halved=%q; want start, end or both", halved)
	}
	for _, o := range [...]struct {
		name string
		o    optional
	}{{"width", width}, {"foot", foot}, {"distance", distance}} {
		if o.o.given && !(o.o.value > 0) {
			return nil, c.errorf("%s=%g; want more than 0 mm", o.name, o.o.value)
		}
	}
	s.ToStart = to == towardsStart
	s.HalvedStart, s.HalvedEnd = halved == towardsStart || halved == "both", halved == towardsEnd || halved == "both"
	s.Width, s.Foot, s.To = width.value, foot.value, p.RunLength(s.Run)-end
	switch {
	case count.given == distance.given:
		return nil, c.errorf("want either count or distance=mm")
	case count.given:
		if s.Count, err = wholeCount(c, count.value); err != nil {
			return nil, err
		}
	default:
		s.Count = s.Fitting(distance.value)
	}
	if err := c.spend(400 * max(0, min(s.Count, 64))); err != nil {
		return nil, err
	}
	return p.replace(cutting.AddPleats(p.Piece, s))
}

// wholeCount returns a number of pleats as a whole number.
func wholeCount(c *call, n float64) (int, error) {
	if n != math.Trunc(n) {
		return 0, c.errorf("count=%g; want a whole number", n)
	}
	return int(n), nil
}

func newSunray(c *call) (starlark.Value, error) {
	var p *piece
	s := cutting.SunrayRun{Depth: 40}
	if err := c.unpack(&p, &s.Name, &s.Run, &s.DownTo, &s.Count, &s.Sewn, &s.Depth); err != nil {
		return nil, err
	}
	if err := checkName(s.Name); err != nil {
		return nil, err
	}
	if err := c.spend(400 * max(0, min(s.Count, 64))); err != nil {
		return nil, err
	}
	return p.replace(cutting.AddSunray(p.Piece, s))
}
