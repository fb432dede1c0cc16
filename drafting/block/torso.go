package block

import (
	"context"
	"errors"
	"fmt"
	"tapeline/drafting/body"
	"tapeline/drafting/cutting"
	"tapeline/drafting/pattern"
)

// torsoKind is one of the blocks that draftTorso drafts.
type torsoKind int

const (
	shapedTorso   torsoKind = iota // with bust dart and waist darts
	straightTorso                  // without waist darts, and without a bust dart unless one is chosen
	knitTorso                      // straight and without darts, on a knit at rest
	jacketTorso                    // straight, and cut as a jacket
)

// fits returns the fits of the block.
func (k torsoKind) fits() []Fit {
	switch k {
	case knitTorso:
		return knitTorsoFits()
	case jacketTorso:
		return jacketFits()
	}
	return torsoFits()
}

// figure computes the measures of the block from a request, or refuses it.
func (k torsoKind) figure(r Request) (*figure, error) {
	if k == jacketTorso {
		return newJacket(r)
	}
	return newFigure(r, k)
}

// draftTorso drafts back, front and sleeve, shaped with bust dart and waist
// darts or straight, and reads every measure back from the finished outlines.
// If the alterations of the sides differ, a piece that would lie on the fold
// becomes a whole one, and a pair that differs becomes a piece for each side;
// checks say which side they belong to.
func draftTorso(ctx context.Context, r Request, kind torsoKind) (pattern.Pattern, error) {
	if r.hasSides() {
		return draftBothSides(ctx, r, kind)
	}
	f, err := kind.figure(r)
	if err != nil {
		return pattern.Pattern{}, err
	}
	return f.draft(ctx)
}

// draftHalves drafts the right half and the left half, each to its own
// alterations, with one neckline between them.
func draftHalves(ctx context.Context, r Request, kind torsoKind) (right, left pattern.Pattern, err error) {
	rightFigure, leftFigure, err := figuresOf(r, kind)
	if err != nil {
		return right, left, err
	}
	if right, err = rightFigure.draft(ctx); err != nil {
		return right, left, fmt.Errorf("right side: %w", err)
	}
	if left, err = leftFigure.draft(ctx); err != nil {
		return right, left, fmt.Errorf("left side: %w", err)
	}
	return right, left, nil
}

// figuresOf returns the figures of both sides, which share one neckline.
func figuresOf(r Request, kind torsoKind) (right, left *figure, err error) {
	if right, err = kind.figure(r.side(r.Right)); err != nil {
		return nil, nil, err
	}
	if left, err = kind.figure(r.side(r.Left)); err != nil {
		return nil, nil, err
	}
	right.mate, left.mate = left, right
	return right, left, nil
}

// draftBothSides drafts both sides and joins them to one pattern.
func draftBothSides(ctx context.Context, r Request, kind torsoKind) (pattern.Pattern, error) {
	right, left, err := draftHalves(ctx, r, kind)
	if err != nil {
		return pattern.Pattern{}, err
	}
	p, err := cutting.JoinSides(right, left)
	if err != nil {
		return p, err
	}
	f, _, err := figuresOf(r, kind)
	if err != nil {
		return p, err
	}
	return p, f.readNeckline(&p)
}

// draft drafts the figure's half of the body. A bust girth that is missed because a dart was
// moved away and the side seam trued where it was is drafted again with what is missing.
func (f *figure) draft(ctx context.Context) (pattern.Pattern, error) {
	again := *f
	p, err := f.draftOnce(ctx)
	failed, ok := errors.AsType[*CheckError](err)
	if !ok || len(failed.Broken) > 0 || len(failed.Failed) != 1 || failed.Failed[0].Name != string(body.BustGirth) {
		return p, err
	}
	again.trued = -failed.Failed[0].Difference() / 2
	return again.draftOnce(ctx)
}

func (f *figure) draftOnce(ctx context.Context) (pattern.Pattern, error) {
	u, err := f.draftUpper()
	if err != nil {
		return pattern.Pattern{}, err
	}
	m, err := f.marryToPass(ctx, &u)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if f.legs != nil {
		if err := f.passThighs(&u, &m); err != nil {
			return pattern.Pattern{}, err
		}
	}
	f.warnOfShoulders(&u)
	if f.cloth != woven {
		f.warnOfFront()
	}
	b := f.backPiece(&u, &m)
	fr, err := f.frontPiece(&u, &m)
	if err != nil {
		return pattern.Pattern{}, err
	}
	if f.jacket != nil {
		return f.draftJacket(&m, b, fr)
	}
	pieces := []pattern.Piece{b, fr}
	pairings := []cutting.Pairing{sew(b, edgeShoulder, fr, edgeShoulder), sew(b, edgeSide, fr, edgeSide)}
	if f.legs != nil {
		var joins []cutting.Pairing
		pieces, joins = f.joinCrotch(pieces)
		pairings = append(pairings, joins...)
	}
	if f.sleeve != "none" {
		s := f.draftSleeve(m.cap)
		sl := f.sleevePiece(&m, &s)
		pieces = append(pieces, sl)
		// The notches keep the ease of the cap above them.
		pairings = append(pairings, sew(sl, edgeCapBack, b, edgeArmhole), sew(sl, edgeCapFront, fr, edgeArmhole),
			sew(sl, edgeUnderarmBack, sl, edgeUnderarmFront))
	}
	p, err := assemble(pieces, pairings...)
	if err != nil {
		return p, err
	}
	p.Warnings = f.warnings
	return p, f.readBack(&p, &m)
}

// warnOfShoulders warns of a back width that does not suit the shoulders: one of
// the two is then likely taken at another place.
func (f *figure) warnOfShoulders(u *upper) {
	switch out := u.backTip.X - f.halfBack; {
	case out > 40:
		f.warn("The shoulder points lie %.0f mm outside the across back on each side, which hollows the armhole: measure "+
			"the shoulder length and the across back again.", out)
	case out < -30:
		f.warn("The across back reaches %.0f mm beyond the shoulder points on each side: measure it half-way down the "+
			"armhole, or give it as across back at the armpits.", -out)
	}
}
