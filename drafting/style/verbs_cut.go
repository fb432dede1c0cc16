package style

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var cutVerbs = []declaration{
	{"Cut and join", `piece(name, title text, edge path=path, ...) piece`,
		`Draw the piece {title}[, named {name}]: its <{edge.name} is {edge}>.`,
		`Makes a new piece from its edges in clockwise order, each path starting where the previous one ends. Edges ` +
			`named neckline, armhole or hem, or whose name starts or ends with one of these words, get that role; ` +
			`the others are seams.`,
		newPiece},
	{"Cut and join", `cut(piece, path, names, edge name, through darts=[], other path=None, ` +
		`close darts=[]) pieces`,
		`Cut {piece} along {path} into {names}, with the new edge {edge}[, taking the {through} into the seam][, the ` +
			`second part along {other}][, with the {close} closed].`,
		`Cuts the piece in two along a path between two positions of its outline. names holds the names of both ` +
			`parts, starting with the part clockwise from the path's start to its end. Both parts have a new edge, ` +
			`named edge. Darts named in through are taken into the seam: other is then the path of the second ` +
			`part, and the area between the two paths is removed. Darts named in close, for a yoke or a shaped waistband, ` +
			`are closed in the part where they open; what is left of one beyond the path is a dart in the new edge of the ` +
			`other part. A dart that ends up to 60 mm before the path, or of which less than 3 mm of the width is left, ` +
			`ends on the path. Where the path meets the two legs of a dart at different distances from its mouth it is ` +
			`moved to their mean; the edges run on where a dart is closed, and pair. No other dart may lie across the path.`,
		cutApart},
	{"Cut and join", `join(a piece, edge, b piece, other_edge edge) piece`,
		`Join {a} at its {edge} to {b} at its {other_edge}, as one piece.`,
		`Moves piece b so that its edge lies on the edge of a, and makes one piece of both. The edges must have the ` +
			`same shape.`,
		join},
	{"Cut and join", `two_piece_sleeve(sleeve piece, elbow length, wrist length, bend number=7, front length=25, ` +
		`back length=15) pieces`,
		`Cut {sleeve} into top and under sleeve, {elbow} round at the elbow and {wrist} at the wrist[, the forearm bent by ` +
			`{bend} degrees][, the front seam {front} under the arm][, the back seam {back} under it].`,
		`Returns (top_sleeve, under_sleeve) of a one-piece sleeve: with edges cap_back, cap_front, front_seam, back_seam ` +
			`and hem, the cap that of the sleeve. Both seams lie under the arm, front and back mm from the folds of the ` +
			`sleeve laid flat, or a little more or less where the cap has a notch there; they are hollowed and bent at ` +
			`the elbow, and pair to the length. The block's sleeve must be ` +
			`upright: draft it with elbow="upright".`,
		twoPieceSleeve},
	{"Cut and join", `vent(piece, edge, high length, wide length=45) piece`,
		`Add a vent to the {edge} of {piece}, {high} high[ and {wide} wide].`,
		`Extends an edge that meets the hem, such as the centre back, by a strip for a vent, with a slanted top. The ` +
			`edge stays above it; the strip's edges are vent_edge and vent_top.`,
		vent},
	{"Cut and join", `slit(piece, name, edge, at along, long length) piece`,
		`Mark the {name} on {piece}, {long} long from its {edge}, {at} along.`,
		`Marks a cut into a piece, square to an edge at mm along it, by the line name and a drill hole name_end.`,
		slit},
	{"Cut and join", `placket(long length, wide length=25) pieces`,
		`Make the plackets for a slit {long} long[, {wide} wide].`,
		`Makes the two parts that finish a slit in a sleeve, and returns (placket_over, placket_under): the over placket ` +
			`with a pointed tip, and the under placket that binds the slit's back edge. Their edges are turned under.`,
		placket},
	{"Cut and join", `split(piece, edge, at along, first name, second name) piece`,
		`Divide the {edge} of {piece} {at} into {first} and {second}.`,
		`Divides an edge in two at mm along it, and names both parts. The piece is not cut.`,
		splitEdge},
	{"Cut and join", `copy(piece, name, title text) piece`,
		`Copy {piece} as the piece {title}[, named {name}].`,
		`Copies the piece under another name: for a lining, or as the start of another shape.`,
		copyPiece},
}

// roleByName returns the role of an edge of a new piece, as its name says.
func roleByName(name string) pattern.Role {
	for _, role := range [...]pattern.Role{pattern.RoleNeckline, pattern.RoleArmhole, pattern.RoleHem} {
		r := string(role)
		if name == r || strings.HasPrefix(name, r+"_") || strings.HasSuffix(name, "_"+r) {
			return role
		}
	}
	return pattern.RoleSeam
}

func newPiece(c *call) (starlark.Value, error) {
	p := pattern.Piece{Cut: pattern.Cut{Count: 1}}
	if err := c.unpackPositional(&p.Name, &p.Title); err != nil {
		return nil, err
	}
	if err := checkName(p.Name); err != nil {
		return nil, err
	}
	if len(c.kwargs) < 2 || len(c.kwargs) > 200 {
		return nil, fmt.Errorf("piece %s: %d edges; want 2 to 200", p.Name, len(c.kwargs))
	}
	for _, kv := range c.kwargs {
		edge, _ := starlark.AsString(kv[0])
		q, ok := kv[1].(path)
		if !ok || len(q.Path) == 0 {
			return nil, fmt.Errorf("piece %s, edge %s: %w", p.Name, edge, typeError(kv[1], "a path"))
		}
		if err := checkName(edge); err != nil {
			return nil, err
		}
		p.Edges = append(p.Edges, pattern.Edge{Name: edge, Run: edge, Role: roleByName(edge), Path: q.Path})
	}
	for i := range p.Edges {
		e := &p.Edges[i]
		next := &p.Edges[(i+1)%len(p.Edges)]
		if gap := e.Path.End().Dist(next.Path.Start()); gap > 0.05 {
			return nil, fmt.Errorf("piece %s, edge %s: it starts %.2f mm from the end of %s", p.Name, next.Name, gap, e.Name)
		}
		next.Path = next.Path.MoveStart(e.Path.End())
	}
	if outline := p.Outline(); !(outline.Area() > 0) {
		return nil, fmt.Errorf("piece %s: its edges do not run clockwise", p.Name)
	}
	return &piece{cutting.GrainAlong(p, geom.Pt(0, 1)), false}, nil
}

func cutApart(c *call) (starlark.Value, error) {
	var p *piece
	var first path
	var parts, through, closed names
	var edge string
	var other starlark.Value = starlark.None
	err := c.unpack(&p, &first, &parts, &edge, &through, &other, &closed)
	if err != nil {
		return nil, err
	}
	if len(parts) != 2 {
		return nil, c.errorf("%d names; want one for each of the two parts", len(parts))
	}
	for _, name := range []string{parts[0], parts[1], edge} {
		if err := checkName(name); err != nil {
			return nil, c.errorf("%w", err)
		}
	}
	second, ok := other.(path)
	if !ok && other != starlark.None {
		return nil, c.errorf("other: %w", typeError(other, "a path"))
	}
	if len(first.Path) == 0 {
		return nil, c.errorf("the path is empty")
	}
	var both [2]pattern.Piece
	switch {
	case len(closed) == 0:
		both, err = cutting.CutApart(p.Piece, first.Path, second.Path, edge, [2]string(parts), through...)
	case len(through) > 0 || ok:
		err = c.errorf("close is given with through or other; want darts either closed or taken into the seam")
	default:
		both, err = cutting.CutClosed(p.Piece, first.Path, edge, [2]string(parts), closed)
	}
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(both[0]), p.with(both[1])}, nil
}

func join(c *call) (starlark.Value, error) {
	var a, b *piece
	var edgeA, edgeB string
	if err := c.unpack(&a, &edgeA, &b, &edgeB); err != nil {
		return nil, err
	}
	return a.replace(cutting.Join(a.Piece, edgeA, b.Piece, edgeB))
}

func twoPieceSleeve(c *call) (starlark.Value, error) {
	var p *piece
	s := cutting.TwoPieceSleeve{Bend: 7, Front: 25, Back: 15}
	if err := c.unpack(&p, &s.Elbow, &s.Wrist, &s.Bend, &s.Front, &s.Back); err != nil {
		return nil, err
	}
	s.Bend *= math.Pi / 180
	top, under, err := cutting.CutTwoPiece(p.Piece, s)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(top), p.with(under)}, nil
}

func vent(c *call) (starlark.Value, error) {
	var p *piece
	var edge string
	var high float64
	wide := 45.0
	if err := c.unpack(&p, &edge, &high, &wide); err != nil {
		return nil, err
	}
	return p.replace(cutting.Vent(p.Piece, edge, high, wide))
}

func slit(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var at cutting.Position
	var long float64
	if err := c.unpack(&p, &name, &at.Run, &at.At, &long); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	if at.At < 0 {
		at.At += p.RunLength(at.Run)
	}
	return p.replace(cutting.Slit(p.Piece, name, at, long))
}

func placket(c *call) (starlark.Value, error) {
	var long float64
	wide := 25.0
	if err := c.unpack(&long, &wide); err != nil {
		return nil, err
	}
	over, under, err := cutting.Placket(long, wide)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{&piece{over, false}, &piece{under, false}}, nil
}

func splitEdge(c *call) (starlark.Value, error) {
	var p *piece
	var first, second string
	var at cutting.Position
	err := c.unpack(&p, &at.Run, &at.At, &first, &second)
	if err != nil {
		return nil, err
	}
	for _, name := range [...]string{first, second} {
		if err := checkName(name); err != nil {
			return nil, err
		}
	}
	if at.At < 0 {
		at.At += p.RunLength(at.Run)
	}
	return p.replace(cutting.SplitEdge(p.Piece, at, first, second))
}

func copyPiece(c *call) (starlark.Value, error) {
	var p *piece
	var name, title string
	if err := c.unpack(&p, &name, &title); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	q := p.with(p.Piece)
	q.Name, q.Title = name, title
	q.Notes = slices.Clone(p.Notes)
	return q, nil
}
