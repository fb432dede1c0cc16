package block

import (
	"tapeline/drafting/geom"
	"tapeline/drafting/wear"
)

const (
	maxWidenings = 6    // of a leg
	legLevels    = 40   // at which the room of a leg is compared, crotch to hem
	roomOver     = 2.0  // mm that a leg is widened to beyond its least room: sections are read square to the hem
	byThigh      = 0.35 // of the way from crotch to knee: above it the leg is widened at the crotch line
)

// fitLeg draws both pieces, and again with a wider leg while the leg that wears
// them lacks its least ease somewhere between crotch and hem: the shape that was
// chosen leaves it out where a thick thigh or a short shin comes under a narrow
// knee or hem.
func (s *trousers) fitLeg() (trouserDraft, error) {
	hem, warned := s.hemGirth, len(s.warnings)
	d, err := s.fitCrotch()
	for range maxWidenings {
		if err != nil || !s.widen(&d) {
			break
		}
		s.warnings = s.warnings[:warned] // those of the narrower leg
		d, err = s.fitCrotch()
	}
	if s.hemGirth > hem+roomOver {
		s.warn("The hem is drawn %.0f mm round instead of %.0f, so that the leg has room in it.", s.hemGirth, hem)
	}
	return d, err
}

// widen widens the leg where a drawn one lacks most: at the crotch line, at the
// knee or at the hem. It reports whether it did.
func (s *trousers) widen(d *trouserDraft) bool {
	fork := d.legs[back].fork.Y
	missing, at := 0.0, 0.0
	for i := 1; i <= legLevels; i++ {
		level := fork + (s.hemAt-fork)*float64(i)/legLevels
		room, err := wear.LegRoom(s.body.Find, level-fork)
		if err != nil {
			return false
		}
		if short := room - s.girthAt(d, level); short > missing {
			missing, at = short, level
		}
	}
	if missing == 0 {
		return false
	}
	missing += roomOver
	if at <= s.knee {
		switch share := (at - fork) / (s.knee - fork); {
		case share < byThigh:
			s.thigh = d.legs[front].widthAt + d.legs[back].widthAt + missing/(1-share)
		default:
			s.kneeGirth += missing / share
		}
		return true
	}
	if part := (at - s.knee) / (s.shapedTo - s.knee); part <= mostPart {
		s.kneeGirth += missing / (1 - part)
	} else {
		s.hemGirth += missing / part
	}
	return true
}

// girthAt returns the girth in mm of the drawn leg at a level below its crotch.
func (s *trousers) girthAt(d *trouserDraft, level float64) float64 {
	if level > s.knee {
		return s.kneeGirth + (level-s.knee)/(s.shapedTo-s.knee)*(s.hemGirth-s.kneeGirth)
	}
	var sum float64
	for _, l := range d.legs {
		sum += xAtLevel(geom.Path{l.thigh}, level) - xAtLevel(geom.Path{l.inseam}, level)
	}
	return sum
}
