package style

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"tapeline/drafting/cutting"
	"tapeline/drafting/geom"
	"tapeline/drafting/pattern"
)

var deriveVerbs = []Verb{
	{"Derive", `band(name, title, length, width, doubled=False)`,
		`A straight band, its length along the grain: a cuff, waistband, belt or neckband. doubled=True makes it twice as wide with its fold along the middle. Its edges are top, end, bottom and start, clockwise from the top left.`,
		band},
	{"Derive", `waistband(name, title, depth, underlap, part=mm, ...)`,
		`A doubled waistband as it lies unrolled, right side up, depth mm deep when it is folded: its lower edge falls into the parts that are sewn to the garment, from the right end to the left, and an underlap at the left end. Its edges are top, end, the parts, underlap and start.`,
		waistband},
	{"Derive", `facing(piece, edges, name, title, width=mm, inner=path)`,
		`The strip of a piece along one or more edges that follow each other, as a facing to be sewn to it face to face: so many mm wide, or up to a path drawn across the piece. Its inner edge is named inner. Darts that reach into it are given up or moved before.`,
		facing},
	{"Derive", `binding(name, title, length, width)`,
		`A strip cut on the bias to bind or pipe an edge. Its edges are those of a band.`,
		binding},
	{"Derive", `stand(name, title, neck, button, height, rise=12)`,
		`Half a collar stand, on the fold at the centre back, its neck edge exactly neck mm to the centre front and button mm beyond. Its edges are top, front, neck and centre_back.`,
		stand},
	{"Derive", `collar(name, title, neck, height, point, spread=18, drop=8)`,
		`Half a collar on the fold, its neck edge exactly neck mm. height is that at the centre back, point the length of its point, spread by how many degrees that leans out. Its edges are outer, front, neck and centre_back.`,
		collar},
	{"Derive", `patch_pocket(name, title, width, height, point=0)`,
		`A pocket sewn on. Its edges are top (a hem), right, bottom and left.`,
		patchPocket},
	{"Derive", `pocket_bag(name, title, opening, width=150, depth=100)`,
		`One side of a pocket set into a seam. Its edges are bag and opening.`,
		pocketBag},
	{"Derive", `lining(piece, name, title)`,
		`The piece as its own lining, to be cut from lining and sewn in face to face.`,
		lining},
}

func asPiece(p pattern.Piece, err error) (starlark.Value, error) {
	if err != nil {
		return nil, err
	}
	if !validName(p.Name) {
		return nil, errBadName(p.Name)
	}
	return &piece{p, false}, nil
}

func band(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var n, width mm
	var doubled bool
	if err := starlark.UnpackArgs("band", args, kwargs, "name", &name, "title", &title, "length", &n, "width", &width, "doubled?", &doubled); err != nil {
		return nil, err
	}
	return asPiece(cutting.Band(name, title, float64(n), float64(width), doubled))
}

func waistband(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var depth, underlap mm
	if err := starlark.UnpackPositionalArgs("waistband", args, nil, 4, &name, &title, &depth, &underlap); err != nil {
		return nil, err
	}
	if len(kwargs) == 0 || len(kwargs) > 20 {
		return nil, fmt.Errorf("waistband: %d parts; 1 to 20", len(kwargs))
	}
	var parts []cutting.BandPart
	err := each(kwargs, func(name string, v float64) error {
		if !validName(name) {
			return errBadName(name)
		}
		if slices.Contains([]string{"top", "end", "underlap", "start"}, name) {
			return fmt.Errorf("waistband: a part %s: an edge of the band has this name", name)
		}
		parts = append(parts, cutting.BandPart{Name: name, Length: v})
		return nil
	})
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.Waistband(name, title, float64(depth), float64(underlap), parts))
}

func facing(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var edges names
	var width maybe
	var inner starlark.Value = starlark.None
	var name, title string
	if err := starlark.UnpackArgs("facing", args, kwargs, "piece", &p, "edges", &edges, "name", &name, "title", &title, "width?", &width, "inner?", &inner); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	along, drawn := inner.(path)
	if drawn == width.given || drawn && len(along.Path) == 0 {
		return nil, fmt.Errorf("facing: width=mm or inner=path: %w", errBoth)
	}
	q, err := cutting.Facing(p.Piece, edges, width.value, along.Path, name, title, "inner")
	if err != nil {
		return nil, err
	}
	return &piece{q, !p.over}, nil
}

func binding(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var n, width mm
	if err := starlark.UnpackArgs("binding", args, kwargs, "name", &name, "title", &title, "length", &n, "width", &width); err != nil {
		return nil, err
	}
	p, err := cutting.Rectangle(name, title, float64(n), float64(width))
	if err != nil {
		return nil, err
	}
	return asPiece(cutting.GrainAlong(p, geom.Pt(1, 1)), nil)
}

func stand(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var neck, button, height mm
	rise := mm(12)
	if err := starlark.UnpackArgs("stand", args, kwargs, "name", &name, "title", &title, "neck", &neck, "button", &button, "height", &height, "rise?", &rise); err != nil {
		return nil, err
	}
	return asPiece(cutting.Stand(name, title, float64(neck), float64(button), float64(height), float64(rise)))
}

func collar(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var neck, height, tip mm
	spread, fall := mm(18), mm(8)
	if err := starlark.UnpackArgs("collar", args, kwargs, "name", &name, "title", &title, "neck", &neck, "height", &height, "point", &tip, "spread?", &spread, "drop?", &fall); err != nil {
		return nil, err
	}
	return asPiece(cutting.Collar(name, title, float64(neck), float64(height), float64(tip), float64(spread), float64(fall)))
}

func patchPocket(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var width, height, tip mm
	if err := starlark.UnpackArgs("patch_pocket", args, kwargs, "name", &name, "title", &title, "width", &width, "height", &height, "point?", &tip); err != nil {
		return nil, err
	}
	return asPiece(cutting.PatchPocket(name, title, float64(width), float64(height), float64(tip)))
}

func pocketBag(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var name, title string
	var opening mm
	width, depth := mm(150), mm(100)
	if err := starlark.UnpackArgs("pocket_bag", args, kwargs, "name", &name, "title", &title, "opening", &opening, "width?", &width, "depth?", &depth); err != nil {
		return nil, err
	}
	return asPiece(cutting.PocketBag(name, title, float64(opening), float64(width), float64(depth)))
}

func lining(_ *run, args starlark.Tuple, kwargs []starlark.Tuple) (starlark.Value, error) {
	var p *piece
	var name, title string
	if err := starlark.UnpackArgs("lining", args, kwargs, "piece", &p, "name", &name, "title", &title); err != nil {
		return nil, err
	}
	if !validName(name) {
		return nil, errBadName(name)
	}
	q := p.Piece
	q.Name, q.Title, q.Cloth, q.Interfacing, q.Notes = name, title, "lining", 0, nil
	return &piece{q, !p.over}, nil
}
