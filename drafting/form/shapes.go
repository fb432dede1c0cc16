package form

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/spatial/r2"

	"tapeline/drafting/body"
)

//go:generate go run ../../cmd/formmodel -forms ../../../shared/data/forms -out shapes.json

//go:embed shapes.json
var shapesFile []byte

var shapes = sync.OnceValue(func() *Shapes {
	var s Shapes
	if err := json.Unmarshal(shapesFile, &s); err != nil {
		panic(fmt.Errorf("form: shapes.json: %w", err))
	}
	return &s
})

// Shapes are what the package knows of how bodies are shaped, learned by command
// formmodel.
type Shapes struct {
	Trunk      Trunk
	Women, Men Model
}

// A Trunk is the trunk of one body from the crotch up the neck, as rows from
// below.
type Trunk struct {
	Rows []Row
	// x of the shoulder point and of the side neck point, mm.
	Shoulder, Neck float64
}

// A Row is a level section of a trunk.
type Row struct {
	At     float64   // level, as in Stations
	Radius []float64 // from the middle, mm, at each of the Angles
	Middle float64   // z of the middle, mm
}

// Stations are the levels to which places on a trunk refer: 2.5 is half-way from
// the waist to the bust.
var Stations = []string{"crotch", "hip", "waist", "bust", "armpit", "shoulder", "side neck", "nape", "neck"}

const (
	atCrotch = iota
	atHip
	atWaist
	atBust
	atArmpit
	atShoulder
	atSideNeck
	atNape
	atNeck
)

// A Model says how the sections of a group are shaped.
type Model struct {
	Mean, SD  []float64 // of the Features
	Levels    []Level   // of Levels
	Landmarks []Linear  // z of the Placed landmarks from the middle at the armpit, over the height
}

// Level is the shape of the section at a level.
type Level struct {
	Name   string
	Radius []Linear // over the radius of a circle of the girth, at each of the Angles
	Girth  Linear   // over the bust girth
	Middle Linear   // z of the middle over the height
}

// Linear is a quantity that depends on the standardized Features.
type Linear struct {
	Mean float64
	By   []float64
}

// Levels are the levels with a learned shape, and levelAt their stations.
var Levels = []string{"crotch", "hip", "high_hip", "waist", "under_bust", "bust", "chest_above", "armpit"}

var levelAt = []float64{atCrotch, atHip, atHip + 0.333, atWaist, atWaist + 0.735, atBust, atBust + 0.5, atArmpit}

// atBustLevel is the number of the bust among the Levels.
const atBustLevel = 5

// Placed are the landmarks with a learned place.
var Placed = []Landmark{Nape, FrontNeck, SideNeck, Shoulder}

// Angles is the number of directions from the front to the back, both among
// them, at which a section's radius is known. The other side is its mirror image.
const Angles = 37

// angle returns the direction i, 0 for the front.
func angle(i int) float64 { return math.Pi * float64(i) / (Angles - 1) }

// Features are proportions on which shapes depend.
var Features = []string{"bust/height", "waist/bust", "hip/bust", "under bust/bust", "bust point width/bust",
	"across back/bust", "across front/bust"}

// FeaturesOf returns the features of measurements in mm.
func FeaturesOf(m body.Measures) []float64 {
	bust := m[body.BustGirth]
	return []float64{bust / m[body.Height], m[body.WaistGirth] / bust, m[body.HipGirth] / bust,
		m[body.UnderBustGirth] / bust, m[body.BustPointWidth] / bust, m[body.BackWidth] / bust, m[body.ChestWidth] / bust}
}

// standard returns the features of m in standard deviations from the mean. A
// model is not stretched beyond what it has seen.
func (m Model) standard(features []float64) []float64 {
	const farthest = 2.5
	z := make([]float64, len(features))
	for i, v := range features {
		z[i] = max(-farthest, min(farthest, (v-m.Mean[i])/m.SD[i]))
	}
	return z
}

func (l Linear) at(z []float64) float64 {
	v := l.Mean
	for i, c := range l.By {
		v += c * z[i]
	}
	return v
}

// Radius returns the radius of a circle of the girth.
func Radius(girth float64) float64 { return girth / (2 * math.Pi) }

// Radii returns the distances from the middle of a symmetrical loop to it, at
// the Angles, and the z of the middle.
func Radii(loop []r2.Vec) (radii []float64, mid float64) {
	mid = middleOf(loop)
	for i := range Angles {
		a := angle(i)
		radii = append(radii, (ray(loop, mid, a)+ray(loop, mid, -a))/2)
	}
	return radii, mid
}

// ray returns how far from (0, mid) the loop is in a direction: its farthest
// crossing.
func ray(loop []r2.Vec, mid, a float64) float64 {
	dir := r2.Vec{X: math.Sin(a), Y: math.Cos(a)}
	far := 0.0
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		p, q = r2.Vec{X: p.X, Y: p.Y - mid}, r2.Vec{X: q.X, Y: q.Y - mid}
		cp, cq := r2.Cross(dir, p), r2.Cross(dir, q)
		if (cp > 0) == (cq > 0) {
			continue
		}
		s := cp / (cp - cq)
		far = max(far, r2.Dot(dir, r2.Add(p, r2.Scale(s, r2.Sub(q, p)))))
	}
	return far
}
