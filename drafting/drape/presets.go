package drape

// A Preset is a named cloth.
type Preset struct {
	Name  string
	Title string
	Cloth Cloth
	// Comfort is the strain that the cloth bears without pulling on its wearer. A
	// woven cloth for a close fit bears a per cent more.
	Comfort float64
	Knit    bool
}

// Presets returns the cloths by name, lightest first. Weights and bending lengths
// are of the middle of what is sold under these words (from memory); stiffness in
// tension and shear is of the order that low-stress tests of apparel cloth report
// (from memory).
func Presets() []Preset {
	return []Preset{
		{"light-woven", "lawn, voile, light viscose", Cloth{90, 900, 700, 30, 0.2, 16, 14}, 0.015, false},
		{"medium-woven", "shirting, linen, crepe", Cloth{150, 1500, 1200, 60, 0.2, 20, 18}, 0.015, false},
		{"heavy-woven", "suiting, twill, corduroy", Cloth{260, 2200, 1800, 120, 0.2, 26, 24}, 0.015, false},
		{"denim", "denim, canvas", Cloth{380, 4000, 3000, 250, 0.2, 38, 32}, 0.015, false},
		{"jersey", "single jersey with little elastane", Cloth{180, 120, 60, 30, 0.3, 14, 12}, 0.10, true},
	}
}

// PresetOf returns the preset of a name.
func PresetOf(name string) (Preset, bool) {
	for _, p := range Presets() {
		if p.Name == name {
			return p, true
		}
	}
	return Preset{}, false
}
