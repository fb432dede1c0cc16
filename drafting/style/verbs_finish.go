package style

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var finishVerbs = []declaration{
	{"Finish", `allow(piece, edge length=mm, ...) piece`,
		`Give {piece} an allowance of <{edge} at the {edge.name}>.`,
		`Sets the allowance of single edges. Other edges get the allowance that the head gives their kind: seam, hem, ` +
			`neckline, armhole, cap, edge, or default.`,
		allow},
	{"Finish", `role(piece, edge seam|hem|neckline|armhole|cap|edge="hem", ...) piece`,
		`Treat the <{edge.name} of {piece} as {edge}>.`,
		`Sets the role of an edge: seam, hem, neckline, armhole, cap, or edge if it is neatened by itself.`,
		setRoles},
	{"Finish", `on_fold(piece, edge) piece`,
		`Cut {piece} on the fold along its {edge}.`,
		`Cuts the piece once on the fold of the cloth, along a straight edge.`,
		onFold},
	{"Finish", `off_fold(piece, edge) piece`,
		`Make the folded {edge} of {piece} a seam, and cut a pair.`,
		`Makes the edge on the fold a seam; the piece is cut as a pair.`,
		offFold},
	{"Finish", `cutting(piece, count=None, pair yesno=None, cloth text=None, interfacing count=None, ` +
		`note text=None) piece`,
		`Cut {piece}[, {count} of it][, {pair}as a pair][, from {cloth}][, {interfacing} from interfacing][, and ` +
			`note on it: {note}].`,
		`Sets how often the piece is cut, whether as left and right, from which cloth if not the main one ("lining", ` +
			`"rib"), how often it is also cut from interfacing, and a note lettered on it.`,
		setCutting},
	{"Finish", `notch(piece, edge, at along, double yesno=False, name text="") piece`,
		`Notch the {edge} of {piece} {at}[, {double}double][, lettered {name}].`,
		`Adds a notch at mm along an edge (negative: from its end). If the edge is in a seam, the other side gets the ` +
			`matching notch. name is lettered beside both: "zip end".`,
		notch},
	{"Finish", `zip_opening(piece, edge, long length, allowance length=20, name text="zip end") piece`,
		`Open the {edge} of {piece} from its upper end for a zip {long} long[, with an allowance of {allowance}]` +
			`[, its end lettered {name}].`,
		`Opens an edge for a zip, a slit or a button: sets the allowance of the edge, 20 mm or more to turn in beside a ` +
			`zip, and a double notch with a name long mm from its upper end. Notches of the edge within 18 mm of that one ` +
			`are removed: they would be mistaken for it. Do so with both pieces of a seam; zip_fastener names the zip to ` +
			`buy, and let_pass says what it lets pass.`,
		zipOpening},
	{"Finish", `clear_notches(piece, edge, ...) piece`,
		`Remove the notches of the <{edge}> of {piece}.`,
		`Removes the notches of these edges.`,
		clearNotches},
	{"Finish", `drill(piece, name, at point) piece`,
		`Mark the drill hole {name} on {piece} at {at}.`,
		`Adds a drill hole at a point: a pocket's corner, a button's position. The name "bust_point" marks the bust point ` +
			`of a new piece, which is not drilled.`,
		drill},
	{"Finish", `draw(piece, name, path) piece`,
		`Draw the line {name} on {piece}: {path}.`,
		`Draws a line inside the piece: a fold, or the position of a part to sew on. The lines of a piece have ` +
			`different names.`,
		drawLine},
	{"Finish", `grain(piece, direction, through point=None) piece`,
		`Lay the grain of {piece} {direction}[, through {through}].`,
		`Draws the grain line in a direction, degrees or a word, through a point of the piece.`,
		grain},
}

// maxNotchName is the most bytes of a notch's name: it stands beside the notch.
const maxNotchName = 24

// changed returns the piece with a copy of its edges, to be modified.
func (p *piece) changed() *piece {
	q := p.with(p.Piece)
	q.Edges = slices.Clone(p.Edges)
	return q
}

// eachEdge calls f for the parts of an edge.
func (p *piece) eachEdge(name string, f func(e *pattern.Edge)) error {
	found := false
	for i := range p.Edges {
		if e := &p.Edges[i]; e.Name == name && e.Role != pattern.RoleDartMouth {
			f(e)
			found = true
		}
	}
	if !found {
		return fmt.Errorf("piece %s: no edge %q; it has %v", p.Name, name, p.Runs())
	}
	return nil
}

func allow(c *call) (starlark.Value, error) {
	var p *piece
	if err := c.unpackPositional(&p); err != nil {
		return nil, err
	}
	q := p.changed()
	err := c.eachNumber(func(name string, v float64) error {
		if !(v >= 0 && v <= pattern.MaxAllowance) {
			return c.errorf("%s=%g; want 0 to %g mm", name, v, pattern.MaxAllowance)
		}
		return q.eachEdge(name, func(e *pattern.Edge) { e.Allowance = &v })
	})
	return q, err
}

var settableRoles = []pattern.Role{pattern.RoleSeam, pattern.RoleHem, pattern.RoleNeckline, pattern.RoleArmhole,
	pattern.RoleCap, pattern.RoleEdge}

func setRoles(c *call) (starlark.Value, error) {
	var p *piece
	if err := c.unpackPositional(&p); err != nil {
		return nil, err
	}
	q := p.changed()
	for _, kv := range c.kwargs {
		name, _ := starlark.AsString(kv[0])
		word, _ := starlark.AsString(kv[1])
		role := pattern.Role(word)
		if !slices.Contains(settableRoles, role) {
			return nil, c.errorf("%s=%v; want one of %v", name, kv[1], settableRoles)
		}
		if err := q.eachEdge(name, func(e *pattern.Edge) { e.Role = role }); err != nil {
			return nil, err
		}
	}
	return q, nil
}

func onFold(c *call) (starlark.Value, error) {
	return c.setFold(pattern.RoleFold, pattern.Cut{Count: 1, OnFold: true})
}

func offFold(c *call) (starlark.Value, error) {
	return c.setFold(pattern.RoleSeam, pattern.Cut{Count: 2, Pair: true})
}

func (c *call) setFold(role pattern.Role, cut pattern.Cut) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	q := p.changed()
	q.Cut = cut
	return q, q.eachEdge(name, func(e *pattern.Edge) { e.Role = role })
}

func setCutting(c *call) (starlark.Value, error) {
	var p *piece
	var count, interfacing optional
	var pair starlark.Value
	var cloth, note string
	err := c.unpack(&p, &count, &pair, &cloth, &interfacing, &note)
	if err != nil {
		return nil, err
	}
	q := p.changed()
	if err := c.setCount("count", count, 1, &q.Cut.Count); err != nil {
		return nil, err
	}
	if err := c.setCount("interfacing", interfacing, 0, &q.Interfacing); err != nil {
		return nil, err
	}
	switch {
	case pair != nil:
		q.Cut.Pair = bool(pair.Truth())
	case count.given:
		q.Cut.Pair = q.Cut.Pair && q.Cut.Count%2 == 0
	}
	if len(cloth) > 40 {
		return nil, c.errorf("cloth: %d bytes; at most 40", len(cloth))
	}
	if cloth == "main" {
		q.Cloth = ""
	} else if cloth != "" {
		q.Cloth = cloth
	}
	if note != "" {
		if len(note) > 200 || len(q.Notes) >= 6 {
			return nil, c.errorf("note: at most 200 bytes, and at most 6 notes on a piece")
		}
		q.Notes = append(slices.Clip(q.Notes), strings.TrimSpace(note))
	}
	return q, nil
}

// setCount sets a count that was given, from atLeast to 40.
func (c *call) setCount(name string, v optional, atLeast int, count *int) error {
	if !v.given {
		return nil
	}
	n := int(v.value)
	if float64(n) != v.value || n < atLeast || n > 40 {
		return c.errorf("%s=%g; want a whole number from %d to 40", name, v.value, atLeast)
	}
	*count = n
	return nil
}

func notch(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at float64
	var double bool
	var says string
	if err := c.unpack(&p, &name, &at, &double, &says); err != nil {
		return nil, err
	}
	if len(says) > maxNotchName {
		return nil, c.errorf("name: %d bytes; at most %d", len(says), maxNotchName)
	}
	if _, err := p.edgePath(name); err != nil {
		return nil, err
	}
	n := p.RunLength(name)
	d := at
	if d < 0 {
		d += n
	}
	if d < 0 || d > n {
		return nil, fmt.Errorf("piece %s, edge %s: a notch at %.1f mm of %.1f mm", p.Name, name, at, n)
	}
	kind := pattern.NotchSingle
	if double {
		kind = pattern.NotchDouble
	}
	q := p.with(p.Piece)
	q.Notches = append(slices.Clip(p.Notches), pattern.Notch{Edge: name, At: d, Kind: kind, Name: says})
	return q, nil
}

func zipOpening(c *call) (starlark.Value, error) {
	var p *piece
	var edge string
	var long float64
	allowance, name := 20.0, "zip end"
	if err := c.unpack(&p, &edge, &long, &allowance, &name); err != nil {
		return nil, err
	}
	if len(name) > maxNotchName {
		return nil, c.errorf("name: %d bytes; at most %d", len(name), maxNotchName)
	}
	return p.replace(cutting.OpenForZip(p.Piece, edge, long, allowance, name))
}

func clearNotches(c *call) (starlark.Value, error) {
	if len(c.args) < 2 || len(c.kwargs) > 0 {
		return nil, c.errorf("want (piece, edge, ...)")
	}
	p, ok := c.args[0].(*piece)
	if !ok {
		return nil, c.errorf("%w", typeError(c.args[0], "a piece"))
	}
	q := p.with(p.Piece)
	q.Notches = slices.Clone(p.Notches)
	for _, a := range c.args[1:] {
		name, ok := starlark.AsString(a)
		if !ok {
			return nil, c.errorf("%w", typeError(a, "an edge's name"))
		}
		if _, err := p.edgePath(name); err != nil {
			return nil, err
		}
		q.Notches = slices.DeleteFunc(q.Notches, func(n pattern.Notch) bool { return n.Edge == name })
	}
	return q, nil
}

func drill(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at geom.Point
	if err := c.unpack(&p, &name, &at); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	if !p.Outline().Contains(at) {
		return nil, fmt.Errorf("piece %s: the drill hole %s lies outside it", p.Name, name)
	}
	kind := pattern.MarkDrill
	if name == string(pattern.MarkBustPoint) {
		kind = pattern.MarkBustPoint
	}
	q := p.with(p.Piece)
	q.Marks = append(slices.Clip(p.Marks), pattern.Mark{Name: name, Kind: kind, At: at})
	return q, nil
}

func drawLine(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var l path
	if err := c.unpack(&p, &name, &l); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	if len(l.Path) == 0 {
		return nil, c.errorf("the path is empty")
	}
	if _, err := p.line(name); err == nil {
		return nil, c.errorf("piece %s already has a line %s", p.Name, name)
	}
	q := p.with(p.Piece)
	q.Lines = append(slices.Clip(p.Lines), pattern.Line{Name: name, Path: l.Path})
	return q, nil
}

func grain(c *call) (starlark.Value, error) {
	var p *piece
	var d direction
	var through starlark.Value
	if err := c.unpack(&p, &d, &through); err != nil {
		return nil, err
	}
	if !d.given {
		return nil, c.errorf("the direction is required")
	}
	if through == nil {
		return p.with(cutting.GrainAlong(p.Piece, d.unit)), nil
	}
	at, ok := through.(point)
	if !ok || !p.Outline().Contains(geom.Point(at)) {
		return nil, c.errorf("through=%v; want a point inside piece %s", through, p.Name)
	}
	return p.with(cutting.GrainThrough(p.Piece, d.unit, geom.Point(at))), nil
}
