package drape

// gravity is the weight of a gram, mN.
const gravity = 9.80665

// Cloth is how a cloth hangs, stretches and bends.
type Cloth struct {
	Weight float64 // g/m2

	// Stiffness in tension, N/m: the force on a metre's width over the strain.
	Warp, Weft float64
	// Shear is the force on a metre over the shear angle in radians, N/m.
	Shear float64
	// Poisson is the narrowing across the warp over the stretch along it.
	Poisson float64

	// Bending lengths of ASTM D1388, mm: an overhang of twice the bending length
	// bends down to 41.5 degrees.
	BendWarp, BendWeft float64
}

// load returns the weight of a square millimetre, mN.
func (c Cloth) load() float64 { return c.Weight * gravity * 1e-6 }

// rigidity returns the resistance to bending, mN mm, of a strip with the
// direction's share of the warp: Peirce 1930, G = w c^3.
func (c Cloth) rigidity(warp float64) float64 {
	along := c.load() * c.BendWarp * c.BendWarp * c.BendWarp
	across := c.load() * c.BendWeft * c.BendWeft * c.BendWeft
	return warp*along + (1-warp)*across
}
