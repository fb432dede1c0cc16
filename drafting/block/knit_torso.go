package block

import (
	"context"
	"math"

	"tapeline/drafting/wear"
)

// widenWord is by how much a knit may be widened to be put on without a word, mm.
const widenWord = 30.0

// widenToPass widens the waist and the hip of a knit torso at rest so that, stretched,
// it passes the shoulders, or the hips if it is stepped into, and the ends of
// long sleeves so that the hand passes them.
func (f *figure) widenToPass() {
	widen := func(half *float64, part wear.Part, where string) {
		girth, err := part.Girth(f.body.Find, f.stretch)
		if err != nil || girth/2 <= *half {
			return
		}
		if more := girth - 2**half; more > widenWord {
			f.warn("The %s is drawn %.0f mm wider than the tension asks for, so that the %s pass: a knit with more stretch may "+
				"be narrower.", where, more, part)
		}
		*half = girth / 2
	}
	over := wear.Shoulders
	if f.steppedInto() {
		over = wear.Hips
	}
	widen(&f.waist, over, "waist")
	widen(&f.hip, over, "hip")
	f.biceps = math.Max(f.biceps, f.elbow) // a sleeve does not widen downward
	hand, err := wear.Hand.Girth(f.body.Find, f.stretch)
	if err != nil || hand <= f.wrist {
		return
	}
	if more := hand - f.wrist; more > widenWord && f.sleeve == "full" {
		f.warn("The ends of the sleeves are drawn %.0f mm wider than the tension asks for, so that the hand passes: a knit "+
			"with more stretch may be narrower.", more)
	}
	f.wrist = hand
}

// steppedInto reports whether a body is sewn together at the crotch, so that the hips pass
// all of it.
func (f *figure) steppedInto() bool { return f.legs != nil && f.legs.closed() }

// marryToPass is marry with a bust so wide that the hips pass at the underarm of a body
// that is stepped into.
func (f *figure) marryToPass(ctx context.Context, u *upper) (married, error) {
	said := len(f.warnings)
	m, err := f.marry(ctx, u)
	hips, unknown := wear.Hips.Girth(f.body.Find, f.stretch)
	for range 4 {
		short := hips/2 - m.underarmBack - m.underarmFront
		if err != nil || unknown != nil || !f.steppedInto() || short <= 0 {
			break
		}
		f.bust += short + hair
		f.warnings = f.warnings[:said]
		m, err = f.marry(ctx, u)
	}
	return m, err
}

// warnOfFront warns of a front that is longer over the bust than a knit without a dart
// takes up: in the armhole, at the hem, and by its stretch.
func (f *figure) warnOfFront() {
	surplus := f.expectedSurplus(f.neckRise())
	taken := maxArmholeSurplus + f.maxDrop() + lengthTension*f.lengthwise*f.frontWaist
	if surplus > taken {
		f.warn("The body is %.0f mm longer in front than at the back, over the bust, and the front takes up %.0f mm of it: "+
			"it is drawn tight below the bust. A garment with a dart or gathers suits it better.", surplus, taken)
	}
}
