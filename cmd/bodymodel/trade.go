package main

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tapeline/drafting/body"
)

// The survey takes the waist at the navel and the arm flexed. An order needs the
// natural waist and a relaxed arm. Women measured as the trade does are therefore
// a group of their own: the survey's women, moved to published tables where
// definitions differ, and with more spread, because neither the tables nor the
// hands that hold the tape are the survey's.

// chart is the standard women's chart of a British handbook, size 12 (W. Aldrich,
// Metric Pattern Cutting for Women's Wear; from memory), in mm. Package body
// scales the same chart to its height.
var chart = body.Measures{
	body.Height: 1640, body.BustGirth: 880, body.WaistGirth: 690, body.HipGirth: 940,
	body.NeckBaseGirth: 370, body.ShoulderLength: 122.5, body.BackWidth: 344, body.ChestWidth: 324,
	body.NapeToWaist: 410, body.ScyeDepth: 210, body.WaistToHip: 206, body.WaistToKnee: 585, body.WaistToFloor: 1040,
	body.BodyRise: 280, body.UpperArmGirth: 284, body.WristGirth: 160, body.ArmLength: 585,
}

// sizes has bust, waist and hip, in mm, of the sizes of EN 13402-3 (from memory)
// in the range of the survey's women.
var sizes = [][3]float64{
	{800, 640, 880}, {840, 680, 920}, {880, 720, 960}, {920, 760, 1000}, {960, 800, 1040}, {1000, 840, 1080},
	{1040, 880, 1120},
}

// tapeSpread is the standard deviation of the logarithm of a measurement by an
// ordinary person from a surveyor's (our judgement; ISO 20685 allows experts 4 to
// 9 mm).
const tapeSpread = 0.01

// flexed is the difference, in mm, of the survey's upper arm and a relaxed one
// (the notes of the survey data say 10 to 20).
const flexed = 15

// difference is the difference of a measure of the trade from the survey's.
type difference struct {
	name body.Name
	by   float64 // of the mean logarithm
	sd   float64 // added standard deviation of the logarithm
}

// trade returns the moments of women as the trade measures them.
func (m moments) trade(names []body.Name) moments {
	out := moments{people: m.people, mean: append([]float64(nil), m.mean...)}
	n := len(names)
	out.covariance = mat.NewSymDense(n, nil)
	out.covariance.CopySym(m.covariance)
	widen := func(i int, sd float64) { out.covariance.SetSym(i, i, out.covariance.At(i, i)+sd*sd) }
	for i := range names {
		widen(i, tapeSpread)
	}
	for _, v := range m.differences(names) {
		i := indexOf(names, v.name)
		out.mean[i] += v.by
		widen(i, v.sd)
	}
	return out
}

func (m moments) differences(names []body.Name) []difference {
	// The survey's estimates for the chart's figure, in mm.
	figure := m.expect(names, body.Measures{
		body.Height: chart[body.Height], body.BustGirth: chart[body.BustGirth], body.HipGirth: chart[body.HipGirth],
	})
	to := func(n body.Name, mm, sd float64) difference { return difference{n, math.Log(mm / figure[n]), sd} }
	plus := func(n body.Name, mm, sd float64) difference { return to(n, figure[n]+mm, sd) }

	waist := 0.0
	for _, size := range sizes {
		of := m.expect(names, body.Measures{body.BustGirth: size[0], body.HipGirth: size[2]})
		waist += math.Log(size[1]/of[body.WaistGirth]) / float64(len(sizes))
	}
	arm := math.Log(1 - flexed/figure[body.UpperArmGirth])
	up := figure[body.NapeToWaist] - chart[body.NapeToWaist] // height of the natural waist above the navel
	return []difference{
		{body.WaistGirth, waist, 0.03},
		{body.HighHipGirth, waist / 3, 0.01}, // a third of the waist by its rule
		to(body.NapeToWaist, chart[body.NapeToWaist], 0.015),
		plus(body.FrontWaistLength, -up, 0.015),
		to(body.WaistToHip, chart[body.WaistToHip], 0.04),
		to(body.WaistToKnee, chart[body.WaistToKnee], 0.015),
		to(body.WaistToThigh, (chart[body.WaistToHip]+chart[body.WaistToKnee])/2, 0.02),
		to(body.WaistToFloor, chart[body.WaistToFloor], 0.01),
		to(body.OutsideLeg, chart[body.WaistToFloor], 0.01),
		plus(body.WaistHeight, up, 0.01),
		to(body.BodyRise, chart[body.BodyRise], 0.04),
		plus(body.TotalCrotchLength, 2*up, 0.03), // in front and at the back
		{body.UpperArmGirth, arm, 0.02},
		{body.ElbowGirth, arm / 2, 0.01}, // about half of the upper arm by its rule
	}
}

// expect returns the conditional mean of every measure, in mm, given some in mm.
func (m moments) expect(names []body.Name, given body.Measures) body.Measures {
	var at []int
	var deviation []float64
	for i, n := range names {
		if v, ok := given[n]; ok {
			at = append(at, i)
			deviation = append(deviation, math.Log(v)-m.mean[i])
		}
	}
	k := len(at)
	block := mat.NewSymDense(k, nil)
	for a := range k {
		for b := range a + 1 {
			block.SetSym(a, b, m.covariance.At(at[a], at[b]))
		}
	}
	var c mat.Cholesky
	c.Factorize(block) // always positive definite here
	var weights mat.VecDense
	if err := c.SolveVecTo(&weights, mat.NewVecDense(k, deviation)); err != nil {
		panic(err) // the given measures depend linearly on each other
	}
	all := body.Measures{}
	for i, n := range names {
		mean := m.mean[i]
		for a := range k {
			mean += m.covariance.At(i, at[a]) * weights.AtVec(a)
		}
		all[n] = math.Exp(mean)
	}
	return all
}

func indexOf(names []body.Name, n body.Name) int {
	if i := slices.Index(names, n); i >= 0 {
		return i
	}
	panic("no " + string(n) + " in the sample")
}
