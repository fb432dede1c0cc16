package main

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tapeline/drafting/body"
)

// The survey takes the waist at the navel and the arm flexed; an order is asked
// for the natural waist and an arm relaxed. Women measured as the trade does
// are therefore a group of their own: those of the survey, moved to published
// tables by the measures that differ, and with more spread because neither the
// tables nor the hands that hold the tape are the survey's.

// chart is a British handbook's standard women's chart, size 12 (W. Aldrich,
// Metric Pattern Cutting for Women's Wear; from memory), mm. Its height is
// that to which package body scales the same chart.
var chart = body.Measures{
	body.Height: 1640, body.BustGirth: 880, body.WaistGirth: 690, body.HipGirth: 940,
	body.NeckBaseGirth: 370, body.ShoulderLength: 122.5, body.BackWidth: 344, body.ChestWidth: 324,
	body.NapeToWaist: 410, body.ScyeDepth: 210, body.WaistToHip: 206, body.WaistToKnee: 585, body.WaistToFloor: 1040,
	body.BodyRise: 280, body.UpperArmGirth: 284, body.WristGirth: 160, body.ArmLength: 585,
}

// sizes are bust, waist and hip of EN 13402-3 (from memory) as far as the
// survey's women reach.
var sizes = [][3]float64{
	{800, 640, 880}, {840, 680, 920}, {880, 720, 960}, {920, 760, 1000}, {960, 800, 1040}, {1000, 840, 1080}, {1040, 880, 1120},
}

// tapeSpread is the spread by which a tape in ordinary hands differs from a
// surveyor's, of the logarithm (our judgement; ISO 20685 allows experts 4 to 9 mm).
const tapeSpread = 0.01

// flexed is by how much the survey's upper arm is larger than a relaxed one,
// mm (the survey data's own notes: 10 to 20).
const flexed = 15

// moved is one measure that the trade takes otherwise than the survey.
type moved struct {
	name body.Name
	by   float64 // of the mean logarithm
	sd   float64 // of the logarithm, added
}

// trade is the group of women as the trade measures them.
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

func (m moments) differences(names []body.Name) []moved {
	// What the survey expects of the chart's figure, mm.
	figure := m.expect(names, body.Measures{body.Height: chart[body.Height], body.BustGirth: chart[body.BustGirth], body.HipGirth: chart[body.HipGirth]})
	to := func(n body.Name, mm, sd float64) moved { return moved{n, math.Log(mm / figure[n]), sd} }
	plus := func(n body.Name, mm, sd float64) moved { return to(n, figure[n]+mm, sd) }

	waist := 0.0
	for _, size := range sizes {
		of := m.expect(names, body.Measures{body.BustGirth: size[0], body.HipGirth: size[2]})
		waist += math.Log(size[1]/of[body.WaistGirth]) / float64(len(sizes))
	}
	arm := math.Log(1 - flexed/figure[body.UpperArmGirth])
	up := figure[body.NapeToWaist] - chart[body.NapeToWaist] // by so much lies the natural waist above the navel
	return []moved{
		{body.WaistGirth, waist, 0.03},
		{body.HighHipGirth, waist / 3, 0.01}, // by its rule a third waist
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
		{body.ElbowGirth, arm / 2, 0.01}, // by its rule half upper arm
	}
}

// expect is the conditional mean of every measure, mm, for some given in mm.
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
	c.Factorize(block) // of a positive definite matrix
	var weights mat.VecDense
	if err := c.SolveVecTo(&weights, mat.NewVecDense(k, deviation)); err != nil {
		panic(err) // two of three girths that say the same: the survey is not one
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
	for i, name := range names {
		if name == n {
			return i
		}
	}
	panic("no " + string(n) + " in the sample")
}
