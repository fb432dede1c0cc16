package style

import (
	"fmt"

	"go.starlark.net/starlark"

	"tapeline/drafting/pattern"
	"tapeline/drafting/wear"
)

var wearVerbs = []declaration{
	{"Make up", `let_pass(edges sewn, passes head|shoulders|bust|hips|hand|foot|arm|thigh, closing sewn=[], ` +
		`opens length=0, stretch share=0, reach length=0, ease length=0, trunk names=[])`,
		`Let the {passes} pass through {edges}[, opened by {closing}][ for {opens}][, in a cloth that stretches by ` +
			`{stretch}][, {reach} from the shoulder point][, with {ease} of ease][, and over {trunk}].`,
		`Declares a ring of edges, "piece/edge" of half the garment, through which a part of the body passes (see ` +
			`pass_over). closing names the edges that a zip, buttons or a slit open, from the ring on, and opens how ` +
			`many mm of them; without opens they open from end to end. A notch must lie where the closing ends. ` +
			`tapeline reads the finished garment back: the part passes the ring, and below a neck or a waist the ` +
			`pieces of trunk at every level, over the head or up over the hips; above a "hand" or a "foot" the limb ` +
			`has its least ease all along the sleeve or leg, 15 mm on an arm, 10 on a leg, or ease. reach is the ` +
			`distance from the shoulder point to the ring, of a sleeve without a cap. stretch is the share by which ` +
			`the cloth stretches. What falls short is a caution of the draft and a fault in a proof.`,
		declareOpening},
}

func narrowest(c *call) (starlark.Value, error) {
	var list starlark.Indexable
	if err := c.unpack(&list); err != nil {
		return nil, err
	}
	pieces, err := c.trunk(list)
	if err != nil {
		return nil, err
	}
	girth, ok := wear.Narrowest(pieces)
	if !ok {
		return nil, c.errorf("the pieces have no level in common")
	}
	return starlark.Float(girth), nil
}

func closingNeeded(c *call) (starlark.Value, error) {
	var b *record
	var part string
	var list starlark.Indexable
	var along path
	if err := c.unpack(&b, &part, &list, &along); err != nil {
		return nil, err
	}
	pieces, err := c.trunk(list)
	if err != nil {
		return nil, err
	}
	top := min(along.Start().Y, along.End().Y)
	opens, ok, err := wear.ClosingNeeded(pieces, top, wear.Part(part), b.lookup)
	if err != nil {
		return nil, c.errorf("%w", err)
	}
	if !ok {
		return nil, c.errorf("the pieces have no level in common")
	}
	return starlark.Float(opens), nil
}

// trunk returns the pieces around a body, and spends what reading them costs.
func (c *call) trunk(list starlark.Indexable) ([]pattern.Piece, error) {
	if list.Len() == 0 || list.Len() > pattern.MaxPieces {
		return nil, c.errorf("%d pieces; want 1 to %d", list.Len(), pattern.MaxPieces)
	}
	given, err := elements[*piece](list)
	if err != nil {
		return nil, c.errorf("pieces: %w", err)
	}
	pieces := make([]pattern.Piece, len(given))
	for i, p := range given {
		pieces[i] = p.Piece
	}
	return pieces, c.spend(100 * len(pieces))
}

// maxOpenings is the most openings of a garment.
const maxOpenings = 40

func declareOpening(c *call) (starlark.Value, error) {
	o := wear.Opening{Line: c.line()}
	var edges, closing, trunk names
	var part string
	err := c.unpack(&edges, &part, &closing, &o.Opens, &o.Stretch, &o.Reach, &o.Ease, &trunk)
	if err != nil {
		return nil, err
	}
	if o.Passes = wear.Part(part); !o.Passes.Valid() {
		return nil, c.errorf("passes=%q; want one of %v", part, wear.Parts())
	}
	if err := checkStretch(o.Stretch); err != nil {
		return nil, c.errorf("%w", err)
	}
	for _, v := range [...]float64{o.Opens, o.Reach, o.Ease} {
		if v < 0 || v > pattern.MaxReach {
			return nil, c.errorf("opens, reach and ease: got %g, want 0 to %g mm", v, pattern.MaxReach)
		}
	}
	if len(edges) == 0 {
		return nil, c.errorf("no edge given")
	}
	if o.Edges, err = c.edgeRefs(edges); err != nil {
		return nil, err
	}
	if o.Closing, err = c.edgeRefs(closing); err != nil {
		return nil, err
	}
	o.Trunk = trunk
	if len(c.openings) >= maxOpenings {
		return nil, c.errorf("more than %d openings", maxOpenings)
	}
	c.openings = append(c.openings, o)
	return starlark.None, nil
}

// maxStretch is the largest share by which a cloth stretches.
const maxStretch = 3.0

func checkStretch(v float64) error {
	if v < 0 || v > maxStretch {
		return fmt.Errorf("stretch=%g; want a share from 0 to %g", v, maxStretch)
	}
	return nil
}

// readOpenings returns the checks of the openings that the script declares.
func (s *Style) readOpenings(r *run, p pattern.Pattern) ([]pattern.Check, error) {
	if err := r.spend(200 * len(r.openings)); err != nil {
		return nil, err
	}
	var all []pattern.Check
	for _, o := range r.openings {
		checks, err := wear.Read(p, r.person, []wear.Opening{o})
		if err != nil {
			return nil, &Error{Style: s.Head.Slug, Line: o.Line, Piece: o.Edges[0].Piece, Edge: o.Edges[0].Edge,
				Reason: err.Error()}
		}
		all = append(all, checks...)
	}
	return all, nil
}
