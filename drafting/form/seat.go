package form

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/body"
)

// Heights of the seat, mm: from crotch to hip at least, and the radius with which the
// trunk, flat below in the template, is rounded above the crotch in front and behind.
const (
	leastSeat   = 40.0
	seatRounded = 40.0
)

// seat sets the crotch to the height where a tape from
// the waist between the legs to the waist reads what it reads on the body, and rounds
// the trunk there.
func (k *maker) seat() {
	for range 6 {
		k.height[atCrotch] -= (k.m[body.TotalCrotchLength] - k.crotchLength()) / 2
		k.height[atCrotch] = max(k.height[atCrotch], k.m[body.KneeHeight]+leastSeat)
		k.height[atCrotch] = min(k.height[atCrotch], k.height[atHip]-leastSeat)
		k.rows()
	}
	k.m[body.InsideLeg] = k.height[atCrotch]
	for i, row := range k.made {
		f := k.rounded(row)
		for j := range row.Radius { // of the depth alone
			sin, cos := math.Sincos(angle(j))
			row.Radius[j] *= math.Hypot(sin, f*cos)
		}
		k.made[i] = row
	}
}

// rounded returns the share of its depth that a row keeps.
func (k *maker) rounded(row madeRow) float64 {
	depth := (row.Radius[0] + row.Radius[Angles-1]) / 2
	down := (k.height[atCrotch] + seatRounded - row.y) / seatRounded
	if down <= 0 {
		return 1
	}
	r := min(seatRounded, depth)
	return (depth - r + r*math.Sqrt(max(0, 1-down*down))) / depth
}

// crotchLength returns what a tape reads from the waist in front, between the legs, to
// the waist behind.
func (k *maker) crotchLength() float64 {
	var points []r2.Vec
	var front, back r2.Vec
	for _, row := range k.made {
		if row.y > k.height[atWaist] {
			continue
		}
		f := k.rounded(row)
		front = r2.Vec{X: row.Middle + f*row.Radius[0], Y: row.y}
		back = r2.Vec{X: row.Middle - f*row.Radius[Angles-1], Y: row.y}
		points = append(points, front, back)
	}
	return perimeter(hull(points)) - r2.Norm(r2.Sub(front, back))
}
