package body_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"tapeline/drafting/body"
)

// survey reads one file of the shared survey (ANSUR II), in mm. Columns that
// are no measurements of ours are left out.
func survey(t *testing.T, file string) []body.Measures {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "..", "shared", "data", file))
	if err != nil {
		t.Skipf("the shared survey is not here: %v", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []body.Measures
	for _, row := range rows[1:] {
		m := body.Measures{}
		for i, col := range rows[0] {
			if _, ok := body.Lookup(body.Name(col)); !ok {
				continue
			}
			v, err := strconv.ParseFloat(row[i], 64)
			if err != nil {
				t.Fatalf("%s: %s: %v", file, col, err)
			}
			m[body.Name(col)] = body.Centimetre.MM(v)
		}
		all = append(all, m)
	}
	if len(all) < 900 {
		t.Fatalf("%s has only %d rows", file, len(all))
	}
	return all
}

var surveyFiles = []string{"bodies-women.csv", "bodies-men.csv"}

// grid is the women's grid of EN 13402-3 (PUBLISHED.md, from memory) in mm:
// bust, waist, hip.
var grid = [][3]float64{
	{760, 600, 840}, {800, 640, 880}, {840, 680, 920}, {880, 720, 960}, {920, 760, 1000}, {960, 800, 1040},
	{1000, 840, 1080}, {1040, 880, 1120}, {1100, 940, 1170}, {1160, 1000, 1220}, {1220, 1060, 1270},
	{1280, 1120, 1320}, {1340, 1180, 1370}, {1400, 1240, 1420}, {1460, 1300, 1470}, {1520, 1360, 1520},
}

// gridBody fills a size of the grid up by the steps of the handbook's standard
// chart from its size 12 (from memory): a size is 40 mm of bust.
func gridBody(size [3]float64, height float64) body.Measures {
	steps := (size[0] - 880) / 40
	return body.Measures{
		body.Height: height, body.BustGirth: size[0], body.WaistGirth: size[1], body.HipGirth: size[2],
		body.NeckBaseGirth: 370 + 10*steps, body.ShoulderLength: 122.5 + 2.5*steps,
		body.BackWidth: 344 + 10*steps, body.NapeToWaist: 410*height/1640 + 5*steps,
		body.UpperArmGirth: 284 + 16*steps, body.WristGirth: 160 + 5*steps, body.ArmLength: 585 * height / 1640,
	}
}
