package style

import (
	"math"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
)

var pocketVerbs = []declaration{
	{"Pockets and buttons", `patch_pocket(name, title text, width length, height length, point length=0) piece`,
		`Make the patch pocket {title}[, named {name}], {width} wide and {height} high[, its bottom ` +
			`{point} deep in a point].`,
		`Makes a pocket to sew on, its bottom pointed by point mm. Its edges are top, right, bottom and left.`,
		patchPocket},
	{"Pockets and buttons", `pocket_bag(name, title text, opening length, width length=150, depth length=100) piece`,
		`Make the pocket bag {title}[, named {name}], with an opening of {opening}[, {width} wide][, {depth} deep].`,
		`Makes one side of an in-seam pocket. Its edges are bag and opening.`,
		pocketBag},
	{"Pockets and buttons", `set_pocket(piece, name, title text, kind welt|jets|flaps, at point, width length, ` +
		`slope angle=0, depth length=50, bag length=150) pieces`,
		`Cut into {piece} the pocket {title}[, named {name}], with {kind}, {width} wide[ from {at}][, sloping by ` +
			`{slope}][, the welt or flap {depth} deep][, its bag {bag} deep].`,
		`Marks a pocket that is cut into a piece, from the end of its opening nearer to the centre to width mm away, and ` +
			`makes its parts. Returns the piece, and the list of parts: name_welt, or name_jet, with flaps name_flap too, ` +
			`and name_bag. Both ends of the opening must lie on the piece. A seam may cross the opening: cut the piece ` +
			`afterwards.`,
		setPocket},
	{"Pockets and buttons", `buttonholes(piece, path, first along, last along, count count, size length=20, ` +
		`lengthwise yesno=False) pieces`,
		`Make {count} buttonholes on {piece} along {path}, from {first} to {last}[, each {size} long][, {lengthwise}along ` +
			`the line].`,
		`Draws buttonholes at even distances along a path, such as guide(piece, "centre"). Across it they begin 3 mm on ` +
			`its left, beyond the button. Returns the piece, and the distance from one button to the next in mm.`,
		buttonholes},
}

func patchPocket(c *call) (starlark.Value, error) {
	var name, title string
	var width, height, tip float64
	err := c.unpack(&name, &title, &width, &height, &tip)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.PatchPocket(name, title, width, height, tip))
}

func pocketBag(c *call) (starlark.Value, error) {
	var name, title string
	var opening float64
	width, depth := 150.0, 100.0
	err := c.unpack(&name, &title, &opening, &width, &depth)
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.PocketBag(name, title, opening, width, depth))
}

func setPocket(c *call) (starlark.Value, error) {
	var p *piece
	var name, title, kind string
	s := cutting.SetPocket{Depth: 50, Bag: 150}
	if err := c.unpack(&p, &name, &title, &kind, &s.At, &s.Width, &s.Slope, &s.Depth, &s.Bag); err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	s.Kind = cutting.PocketKind(kind)
	if !slices.Contains(cutting.PocketKinds(), s.Kind) {
		return nil, c.errorf("kind=%q; want one of %v", kind, cutting.PocketKinds())
	}
	s.Slope *= math.Pi / 180
	q, parts, err := cutting.CutPocket(p.Piece, name, title, s)
	if err != nil {
		return nil, err
	}
	var made []starlark.Value
	for _, part := range parts {
		made = append(made, &piece{part, false})
	}
	return starlark.Tuple{p.with(q), starlark.NewList(made)}, nil
}

func buttonholes(c *call) (starlark.Value, error) {
	var p *piece
	var along path
	row := cutting.ButtonRow{Size: 20}
	if err := c.unpack(&p, &along, &row.First, &row.Last, &row.Count, &row.Size, &row.Along); err != nil {
		return nil, err
	}
	if len(along.Path) == 0 {
		return nil, c.errorf("the path is empty")
	}
	for _, at := range []*float64{&row.First, &row.Last} {
		if *at < 0 {
			*at += along.Path.Length()
		}
	}
	if err := c.spend(100 * max(0, min(row.Count, 64))); err != nil {
		return nil, err
	}
	q, apart, err := cutting.Buttonholes(p.Piece, along.Path, row)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(q), starlark.Float(apart)}, nil
}
