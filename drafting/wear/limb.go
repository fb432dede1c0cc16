package wear

import (
	"tapeline/drafting/body"
)

// The least ease around a limb, mm, along its whole length: what cloth that does
// not stretch needs so that the limb bends and the seam does not bind (common
// practice; an order's ease at elbow and leg has these lower limits too).
const (
	leastArmEase = 15.0
	leastLegEase = 10.0
)

// A leg by the hip girth where it was not measured: ANSUR II, medians.
const (
	thighOfHip = 0.60
	kneeOfHip  = 0.39
	calfOfHip  = 0.37
	ankleOfHip = 0.22
	lowerThigh = 1.055 // of the knee's girth, just above it (ANSUR 1988, from memory: 381 to 361)
	aboveKnee  = 60.0  // mm
)

// crotchHangs is how far the crotch of trousers lies below the body's, mm: the
// rise is taken on a chair, where it is about so much longer (practice).
const crotchHangs = 20.0

// A Station is the girth of a limb at a distance along it, mm.
type Station struct{ At, Girth float64 }

// A profile holds the girths of a limb at distances that grow.
type profile []Station

// girth interpolates between the stations.
func (p profile) girth(at float64) float64 {
	if at <= p[0].At {
		return p[0].Girth
	}
	for i := 1; i < len(p); i++ {
		if a, b := p[i-1], p[i]; at <= b.At {
			return a.Girth + (at-a.At)/(b.At-a.At)*(b.Girth-a.Girth)
		}
	}
	return p[len(p)-1].Girth
}

// arm returns the girth of the arm from the shoulder point: the upper arm
// half-way to the elbow, then evenly to elbow and wrist.
func arm(of Lookup) (profile, error) {
	upper, ok := of(body.UpperArmGirth)
	if !ok {
		return nil, &MissingError{Arm, body.UpperArmGirth}
	}
	elbow := known(of, body.ElbowGirth, 0.55*upper+100)
	wrist := known(of, body.WristGirth, 0.52*upper)
	long := known(of, body.ArmLength, 580)
	bend := min(known(of, body.ShoulderToElbow, 0.575*long), 0.9*long)
	return profile{{0.5 * bend, upper}, {bend, elbow}, {long, wrist}}, nil
}

// leg returns the girth of the leg from the crotch down: the calf is fullest a
// third of the way from knee to floor, and the ankle's girth is taken 70 mm
// above it (anatomy, from memory).
func leg(of Lookup) (profile, error) {
	hip, ok := of(body.HipGirth)
	if !ok {
		return nil, &MissingError{Foot, body.HipGirth}
	}
	inside := known(of, body.InsideLeg, 770)
	knee := 0.41 * inside
	if toKnee, ok := of(body.WaistToKnee); ok {
		if toFloor, ok := of(body.WaistToFloor); ok {
			knee = min(max(toKnee-(toFloor-inside), 0.3*inside), 0.55*inside)
		}
	}
	calf := knee + (inside-knee)/3
	kneeGirth := known(of, body.KneeGirth, kneeOfHip*hip)
	return profile{
		{0, known(of, body.ThighGirth, thighOfHip*hip)},
		{knee - aboveKnee, lowerThigh * kneeGirth},
		{knee, kneeGirth},
		{calf, known(of, body.CalfGirth, calfOfHip*hip)},
		{inside - 70, known(of, body.AnkleGirth, ankleOfHip*hip)},
	}, nil
}

// Leg returns the girths of the leg at distances below the body's crotch: the
// thigh at the crotch itself, just above the knee, the knee, the calf where it is
// fullest, and the ankle. What was not measured is a share of the hip girth. The
// error is a *MissingError if that is unknown.
func Leg(of Lookup) ([]Station, error) { return leg(of) }

// LegRoom returns the least girth in mm of a trouser leg at a distance below its
// crotch line: the leg's own there and the least ease.
func LegRoom(of Lookup, below float64) (float64, error) {
	girths, err := leg(of)
	if err != nil {
		return 0, err
	}
	return girths.girth(below+crotchHangs) + leastLegEase, nil
}

// known returns a measurement, or a substitute.
func known(of Lookup, n body.Name, substitute float64) float64 {
	if v, ok := of(n); ok {
		return v
	}
	return substitute
}
