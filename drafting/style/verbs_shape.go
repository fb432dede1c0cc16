package style

import (
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
)

var shapeVerbs = []declaration{
	{"Shape", `redraw(piece, edge path=path, ...) piece`,
		`Redraw {piece}: make its <{edge.name} {edge}>.`,
		`Replaces adjacent edges with new paths, each running clockwise. The first path starts and the last one ends ` +
			`on the neighbouring edge, which is cut back there, or on its straight extension.`,
		redraw},
	{"Shape", `drop(piece, edge, neighbour length=mm, ...) piece`,
		`Lower the {edge} of {piece} by <{neighbour} at the {neighbour.name}>.`,
		`Moves an edge along its neighbours: drop(front, "neckline", centre_front=30, shoulder=15) is 30 mm lower at ` +
			`the centre and 15 mm wider at the shoulder. A negative number raises it, or lengthens a hem. The shape ` +
			`of the edge is stretched between the new ends.`,
		drop},
	{"Shape", `necklines(front piece, back piece, shape round|v|square|boat="round", depth length=0, width length=0, ` +
		`back_depth length=None, fullness share=0.19) pieces`,
		`Cut the neck of {front} and {back}[, {shape}][, {depth} lower at the front][, {back_depth} lower at the back][, ` +
			`{width} wider at each shoulder][, with a fullness of {fullness}].`,
		`Redraws the neckline of both pieces, and returns (front, back): depth mm lower at the centre front and ` +
			`back_depth mm at the centre back, or half of width, which keeps a wide neck from riding up there; width mm ` +
			`wider along each shoulder. It runs on over the shoulder seam: a round one meets the front's shoulder at about ` +
			`105 degrees, the back's at 75. shape is round, v, square or boat; a boat is shallow and wide, its centre at ` +
			`least a tenth of half its width below its ends. fullness is how far a round front bows from the straight line ` +
			`between its ends, as a share of that line: 0.18 to 0.21 is round.`,
		necklines},
	{"Shape", `grow_sleeves(front piece, back piece, length, width length, underarm length=30) pieces`,
		`Grow sleeves on to {front} and {back}, {length} long from the shoulder point and {width} round at the end[, the ` +
			`underarm {underarm} below the armhole].`,
		`Returns (front, back) with a sleeve cut in one. The overarm goes on straight from the neck point along the ` +
			`shoulder; the underarm runs from the sleeve's end to the side, at least underarm mm below the armhole, and is ` +
			`rounded there: the sleeve is deeper there than at its end. The front's sleeve is turned a little about the ` +
			`neck point, so that both sides are equally long. shoulder, armhole and side become overarm, sleeve_hem and ` +
			`side; no dart may open in them. The back's overarm is notched at the shoulder point. The block needs the ` +
			`armhole for_sleeve, and a width that the hand and the arm pass: see let_pass.`,
		growSleeves},
	{"Shape", `level_to(piece, edge, to length, by edge) piece`,
		`Make the {edge} of {piece} measure {to}, moving its {by}.`,
		`Makes an edge exactly as long as to by moving its neighbour by: ` +
			`level_to(back, "side", length(front, "side"), "hem").`,
		levelTo},
	{"Shape", `taper(piece, edge, width length, square length=70) piece`,
		`Taper {piece} to {width} at its {edge}[, square to it over {square}].`,
		`Makes an edge, such as the end of a sleeve, straight and width mm from end to end, by moving both its ends ` +
			`alike. The edges beside it are stretched to its ends, and turn square to it over the last square mm.`,
		taper},
	{"Shape", `lengthen(piece, at point, by length) piece`,
		`Slash {piece} across at {at} and lengthen it by {by}.`,
		`Slashes the piece straight across the grain, level with the point at, and inserts by mm.`,
		lengthen},
	{"Shape", `slash(piece, start position, end position, by length, hinge length=0) piece`,
		`Slash {piece} from {start} to {end} and open it by {by}[, at the far end by {hinge}].`,
		`Slashes the piece from one position to another, each (edge, mm along it), and opens it by mm at the first and ` +
			`hinge mm at the second. The part with the fold, a centre seam or the grain does not move.`,
		slash},
	{"Shape", `spread(piece, edge, hinge_edge edge, by length, slashes count=8, hinge length=0) piece`,
		`Spread the {edge} of {piece} by {by}, slashed[ {slashes} times] to its {hinge_edge}[, and that by {hinge}].`,
		`Slashes the piece evenly from one edge to another. Together the slashes add by mm to the first edge and ` +
			`hinge mm to the second; hinge=by spreads the piece parallel.`,
		spread},
	{"Shape", `flare(piece, side edge, hem edge, by length, above length=None) piece`,
		`Swing the {side} of {piece} out by {by} at the {hem}[, from {above} down].`,
		`Swings the side out by mm at the hem, from the position above mm along it; without it, from where the side, ` +
			`coming down to its widest, points to the new hem, so that the flare takes the hip's curve on and leaves ` +
			`no bump there. The side keeps its length; the hem is redrawn square to it and to the hem's other end.`,
		flare},
	{"Shape", `true_up(piece, edge) piece`,
		`True up the {edge} of {piece}.`,
		`Redraws an edge between its ends as one smooth curve, square to its neighbours: a hem after its sides were ` +
			`flared.`,
		trueUp},
	{"Shape", `bias_drop(piece, hem edge, share share, below line) piece`,
		`Shorten {piece} at its {hem} by what the cloth on the bias grows below the {below}, {share} of its length.`,
		`Shortens the hem by what its cloth is expected to drop while the garment hangs, so that it is level and as long ` +
			`as asked for once it has hung: on the true bias share of the length below a line such as "hip", along and ` +
			`across the grain nothing, and between them in proportion to the square of the sine of twice the angle of ` +
			`the grain. Lay the grain first. 0.02 to 0.05 is usual, more for loose heavy cloth (common practice); 0.2 ` +
			`is the most. A hem on the bias still hangs for a day or two before it is levelled.`,
		biasDrop},
	{"Shape", `extend(piece, edge, by length, keep name) piece`,
		`Extend the {edge} of {piece} by {by} and keep the old edge as the line {keep}.`,
		`Moves the edge out by mm: a button stand or a grown-on wrap. The old edge remains as a line named keep.`,
		extend},
	{"Shape", `fold_out(piece, edge, width length, fold name) piece`,
		`Add a grown-on facing {width} wide to the {edge} of {piece}, folded at the line {fold}.`,
		`Adds a grown-on facing: the strip along a straight edge, mirrored over it. The edge remains as a line named ` +
			`fold; the facing's edges have facing_ in front of their names.`,
		foldOut},
}

// A position is a position on a piece's outline, written ("edge", mm).
type position cutting.Position

func (s *position) Unpack(v starlark.Value) error {
	if t, ok := v.(starlark.Tuple); ok && len(t) == 2 {
		if name, ok := starlark.AsString(t[0]); ok {
			s.Run = name
			return (*number)(&s.At).Unpack(t[1])
		}
	}
	return typeError(v, `("edge", mm)`)
}

func redraw(c *call) (starlark.Value, error) {
	var p *piece
	if err := c.unpackPositional(&p); err != nil {
		return nil, err
	}
	var runs []string
	var paths []geom.Path
	for _, kv := range c.kwargs {
		name, _ := starlark.AsString(kv[0])
		q, ok := kv[1].(path)
		if !ok {
			return nil, c.errorf("edge %s: %w", name, typeError(kv[1], "a path"))
		}
		runs, paths = append(runs, name), append(paths, q.Path)
	}
	return p.replace(cutting.Redraw(p.Piece, runs, paths))
}

func drop(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpackPositional(&p, &name); err != nil {
		return nil, err
	}
	by := map[string]float64{}
	if err := c.eachNumber(func(name string, v float64) error { by[name] = v; return nil }); err != nil {
		return nil, err
	}
	return p.replace(cutting.Drop(p.Piece, name, by))
}

func necklines(c *call) (starlark.Value, error) {
	var front, back *piece
	shape := string(cutting.NeckRound)
	var backDepth optional
	n := cutting.Neckline{Fullness: cutting.RoundFullness}
	err := c.unpack(&front, &back, &shape, &n.Depth, &n.Width, &backDepth, &n.Fullness)
	if err != nil {
		return nil, err
	}
	n.Shape = cutting.NeckShape(shape)
	if !slices.Contains(cutting.NeckShapes(), n.Shape) {
		return nil, c.errorf("shape=%q; want one of %v", shape, cutting.NeckShapes())
	}
	if !(n.Fullness >= 0.1 && n.Fullness <= 0.25) {
		return nil, c.errorf("fullness=%g; want 0.1 to 0.25", n.Fullness)
	}
	n.BackDepth = cutting.WideBackDepth * n.Width
	if backDepth.given {
		n.BackDepth = backDepth.value
	}
	f, b, err := cutting.Necklines(front.Piece, back.Piece, n)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{front.with(f), back.with(b)}, nil
}

func growSleeves(c *call) (starlark.Value, error) {
	var front, back *piece
	s := cutting.GrownSleeve{Underarm: 30}
	if err := c.unpack(&front, &back, &s.Length, &s.Width, &s.Underarm); err != nil {
		return nil, err
	}
	f, b, err := cutting.GrowSleeves(front.Piece, back.Piece, s)
	if err != nil {
		return nil, err
	}
	return starlark.Tuple{front.with(f), back.with(b)}, nil
}

func levelTo(c *call) (starlark.Value, error) {
	var p *piece
	var name, by string
	var to float64
	if err := c.unpack(&p, &name, &to, &by); err != nil {
		return nil, err
	}
	return p.replace(cutting.Level(p.Piece, name, by, to))
}

func taper(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	var wide float64
	square := 70.0
	if err := c.unpack(&p, &name, &wide, &square); err != nil {
		return nil, err
	}
	return p.replace(cutting.Taper(p.Piece, name, wide, square))
}

func lengthen(c *call) (starlark.Value, error) {
	var p *piece
	var at geom.Point
	var by float64
	if err := c.unpack(&p, &at, &by); err != nil {
		return nil, err
	}
	return p.replace(cutting.Lengthen(p.Piece, at, by))
}

func slash(c *call) (starlark.Value, error) {
	var p *piece
	var from, to position
	var by, hinge float64
	if err := c.unpack(&p, &from, &to, &by, &hinge); err != nil {
		return nil, err
	}
	return p.replace(cutting.Open(p.Piece, cutting.Position(from), cutting.Position(to), by, hinge))
}

func spread(c *call) (starlark.Value, error) {
	var p *piece
	var edge, hingeEdge string
	var by, hinge float64
	n := 8
	err := c.unpack(&p, &edge, &hingeEdge, &by, &n, &hinge)
	if err != nil {
		return nil, err
	}
	if err := c.spend(200 * max(0, min(n, 64))); err != nil {
		return nil, err
	}
	return p.replace(cutting.Spread(p.Piece, edge, hingeEdge, n, by, hinge))
}

func flare(c *call) (starlark.Value, error) {
	var p *piece
	var side, hem string
	var by float64
	var above optional
	if err := c.unpack(&p, &side, &hem, &by, &above); err != nil {
		return nil, err
	}
	if !above.given {
		return p.replace(cutting.FlareOn(p.Piece, side, hem, by))
	}
	return p.replace(cutting.Flare(p.Piece, side, hem, by, above.value))
}

func trueUp(c *call) (starlark.Value, error) {
	var p *piece
	var name string
	if err := c.unpack(&p, &name); err != nil {
		return nil, err
	}
	return p.replace(cutting.TrueUp(p.Piece, name))
}

func biasDrop(c *call) (starlark.Value, error) {
	var p *piece
	var hem, below string
	var share float64
	if err := c.unpack(&p, &hem, &share, &below); err != nil {
		return nil, err
	}
	return p.replace(cutting.BiasDrop(p.Piece, hem, share, below))
}

func extend(c *call) (starlark.Value, error) {
	var p *piece
	var name, keep string
	var by float64
	if err := c.unpack(&p, &name, &by, &keep); err != nil {
		return nil, err
	}
	if err := checkName(keep); err != nil {
		return nil, err
	}
	return p.replace(cutting.Extend(p.Piece, name, by, keep))
}

func foldOut(c *call) (starlark.Value, error) {
	var p *piece
	var name, fold string
	var width float64
	if err := c.unpack(&p, &name, &width, &fold); err != nil {
		return nil, err
	}
	if err := checkName(fold); err != nil {
		return nil, err
	}
	return p.replace(cutting.FoldOut(p.Piece, name, width, fold))
}
