package style

import (
	"errors"
	"math"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
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
	{"Pockets and buttons", `place_pocket(piece, pocket piece, at point, along path=None, about names=[]) piece`,
		`Place {pocket} on {piece} with its corner at {at}[, along {along}].[ It is about {about}.]`,
		`Draws the outline of a pocket on the piece that it is sewn to, under the pocket's name, and drills both ends of ` +
			`its first edge, the top, 3 mm inside it. The pocket's first corner lies at a point. It lies as it was drawn, ` +
			`upright; with a path, such as an edge, it is turned so that its top or its side is parallel to the path there. ` +
			`Where a dart lies under it only its top is drawn: the dart, sewn first, moves the rest. An order is refused ` +
			`whose pocket does not lie on the piece, or whose dart crosses the pocket's top; about names the choices concerned.`,
		placePocket},
	{"Pockets and buttons", `seam_pocket(front piece, back piece, name, title text, at length, opening length=150, ` +
		`width length=150, depth length=100, edge="side", about names=[]) pieces`,
		`Set the pocket {title}[, named {name}], into the[ {edge}] seam of {front} and {back} from {at} down[, with an ` +
			`opening of {opening}][, its bag {width} wide][ and {depth} deep].[ It is about {about}.]`,
		`Sets a pocket into a seam: notches both ends of its opening on both pieces, at mm from the start of the edge, and ` +
			`makes its bag, cut four times. Returns (front, back, bag). Notches that would be mistaken for those of the ` +
			`pocket are removed. Sew the bags together with seam("pocket/bag"). An order is refused whose bag reaches beyond ` +
			`the end of the edge; about names the choices concerned.`,
		seamPocket},
	{"Pockets and buttons", `slant_pocket(front piece, name, title text, across length=38, opening length=155, ` +
		`bag length=120, waist edge="waist", side edge="side", about names=[]) pieces`,
		`Cut the slanted pocket {title}[, named {name}], into {front}[, {across} across][, with an opening of {opening}]` +
			`[, its bag {bag} deep][, between {waist} and {side}].[ It is about {about}.]`,
		`Cuts the corner between waist and side off a front along a slant, from across mm in from the side, or less beside ` +
			`a dart, to opening mm down the side. Returns (front, under, upper): the front with the new edge slant, and both ` +
			`layers of the bag, bag mm deeper than the opening. The under layer carries the corner; its edges are waist_in, ` +
			`waist_out, side_top, side_low and bag, those of the upper layer waist, slant, side and bag. An order whose front ` +
			`has no room for it is refused; about names the choices concerned.`,
		slantPocket},
	{"Pockets and buttons", `set_pocket(piece, name, title text, kind welt|jets|flaps, at point, width length, ` +
		`slope angle=0, depth length=50, bag length=150) pieces`,
		`Cut into {piece} the pocket {title}[, named {name}], with {kind}, {width} wide[ from {at}][, sloping by ` +
			`{slope}][, the welt or flap {depth} deep][, its bag {bag} deep].`,
		`Marks a pocket that is cut into a piece, from the end of its opening nearer to the centre to width mm away, and ` +
			`makes its parts. Returns the piece, and the list of parts: name_welt, or name_jet, with flaps name_flap too, ` +
			`and name_bag. Both ends of the opening must lie on the piece. A seam may cross the opening: cut the piece ` +
			`afterwards.`,
		setPocket},
	{"Pockets and buttons", `set_pocket_over(piece, over piece, edge, name, title text, kind welt|jets|flaps, at point, ` +
		`width length, slope angle=0, depth length=50, bag length=150) pieces`,
		`Cut into {piece} and {over}, across their {edge}, the pocket {title}[, named {name}], with {kind}, {width} wide` +
			`[ from {at}][, sloping by {slope}][, the welt or flap {depth} deep][, its bag {bag} deep].`,
		`Marks a pocket that is cut into two pieces across the seam between them, as set_pocket does. Its opening begins ` +
			`on the first piece and goes on straight over the sewn seam, whose edge has one name on both pieces. Both edges ` +
			`meet as far from their lower ends: what is eased lies above. Returns both pieces and the list of parts.`,
		setPocketOver},
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

// orRefuse returns err. A part without room on this body also refuses the order, about the choices named.
func (c *call) orRefuse(err error, about names) error {
	if e, ok := errors.AsType[*cutting.RoomError](err); ok {
		if full := c.addRequirement(requirement{message: e.Error(), refuse: true, about: about}); full != nil {
			return full
		}
	}
	return err
}

func placePocket(c *call) (starlark.Value, error) {
	var p, pocket *piece
	var at geom.Point
	var along starlark.Value = starlark.None
	var about names
	if err := c.unpack(&p, &pocket, &at, &along, &about); err != nil {
		return nil, err
	}
	beside, ok := along.(path)
	if !ok && along != starlark.None {
		return nil, c.errorf("along: %w", typeError(along, "a path"))
	}
	if err := c.spend(strokeCost * p.Strokes() * pocket.Strokes()); err != nil {
		return nil, err
	}
	q, err := cutting.PlacePocket(p.Piece, pocket.Piece, at, beside.Path)
	if err != nil {
		return nil, c.orRefuse(err, about)
	}
	return p.with(q), nil
}

func seamPocket(c *call) (starlark.Value, error) {
	var front, back *piece
	var name, title string
	s := cutting.SeamPocket{Run: "side", Opening: 150, Width: 150, Depth: 100}
	var about names
	err := c.unpack(&front, &back, &name, &title, &s.At, &s.Opening, &s.Width, &s.Depth, &s.Run, &about)
	if err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	f, b, bag, err := cutting.SetSeamPocket(front.Piece, back.Piece, name, title, s)
	if err != nil {
		return nil, c.orRefuse(err, about)
	}
	return starlark.Tuple{front.with(f), back.with(b), &piece{bag, false}}, nil
}

func slantPocket(c *call) (starlark.Value, error) {
	var front *piece
	var name, title string
	s := cutting.SlantPocket{Waist: "waist", Side: "side", Across: 38, Opening: 155, Bag: 120}
	var about names
	err := c.unpack(&front, &name, &title, &s.Across, &s.Opening, &s.Bag, &s.Waist, &s.Side, &about)
	if err != nil {
		return nil, err
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	f, bag, err := cutting.CutSlantPocket(front.Piece, name, title, s)
	if err != nil {
		return nil, c.orRefuse(err, about)
	}
	return starlark.Tuple{front.with(f), &piece{bag[0], front.over}, &piece{bag[1], !front.over}}, nil
}

func setPocket(c *call) (starlark.Value, error) {
	var p *piece
	var name, title, kind string
	s := cutting.SetPocket{Depth: 50, Bag: 150}
	if err := c.unpack(&p, &name, &title, &kind, &s.At, &s.Width, &s.Slope, &s.Depth, &s.Bag); err != nil {
		return nil, err
	}
	if err := c.checkPocket(name, kind, &s); err != nil {
		return nil, err
	}
	q, parts, err := cutting.CutPocket(p.Piece, name, title, s)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(q), pieceList(parts)}, nil
}

func setPocketOver(c *call) (starlark.Value, error) {
	var p, over *piece
	var edge, name, title, kind string
	s := cutting.SetPocket{Depth: 50, Bag: 150}
	err := c.unpack(&p, &over, &edge, &name, &title, &kind, &s.At, &s.Width, &s.Slope, &s.Depth, &s.Bag)
	if err != nil {
		return nil, err
	}
	if err := c.checkPocket(name, kind, &s); err != nil {
		return nil, err
	}
	q, r, parts, err := cutting.CutPocketOver(p.Piece, over.Piece, edge, name, title, s)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{p.with(q), over.with(r), pieceList(parts)}, nil
}

// checkPocket checks the name of a pocket and its kind, and converts its slope to radians.
func (c *call) checkPocket(name, kind string, s *cutting.SetPocket) error {
	if err := checkName(name); err != nil {
		return err
	}
	s.Kind = cutting.PocketKind(kind)
	if !slices.Contains(cutting.PocketKinds(), s.Kind) {
		return c.errorf("kind=%q; want one of %v", kind, cutting.PocketKinds())
	}
	s.Slope *= math.Pi / 180
	return nil
}

// pieceList returns new pieces as a list.
func pieceList(parts []pattern.Piece) *starlark.List {
	var made []starlark.Value
	for _, part := range parts {
		made = append(made, &piece{part, false})
	}
	return starlark.NewList(made)
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
