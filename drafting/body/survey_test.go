package body_test

import (
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/body/surveytest"
)

var surveys = map[string]func(testing.TB) []body.Measures{"women": surveytest.Women, "men": surveytest.Men}

// grid is the women's grid of EN 13402-3 (from memory) in mm:
// bust, waist, hip.
var grid = [][3]float64{
	{760, 600, 840}, {800, 640, 880}, {840, 680, 920}, {880, 720, 960}, {920, 760, 1000}, {960, 800, 1040},
	{1000, 840, 1080}, {1040, 880, 1120}, {1100, 940, 1170}, {1160, 1000, 1220}, {1220, 1060, 1270},
	{1280, 1120, 1320}, {1340, 1180, 1370}, {1400, 1240, 1420}, {1460, 1300, 1470}, {1520, 1360, 1520},
}

// gridBody adds to a size of the grid the measurements of the handbook's
// standard chart, by its steps from size 12 (from memory). A size is 40 mm of
// bust.
func gridBody(size [3]float64, height float64) body.Measures {
	steps := (size[0] - 880) / 40
	return body.Measures{
		body.Height: height, body.BustGirth: size[0], body.WaistGirth: size[1], body.HipGirth: size[2],
		body.NeckBaseGirth: 370 + 10*steps, body.ShoulderLength: 122.5 + 2.5*steps,
		body.BackWidth: 344 + 10*steps, body.NapeToWaist: 410*height/1640 + 5*steps,
		body.UpperArmGirth: 284 + 16*steps, body.WristGirth: 160 + 5*steps, body.ArmLength: 585 * height / 1640,
	}
}
