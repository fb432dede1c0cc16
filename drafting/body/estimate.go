package body

import "math"

// rule derives one measurement from others.
type rule struct {
	name    Name
	from    []Name // all must be known
	source  string // the formula and its source
	value   func(b Body) float64
	quality quality
}

// quality says for what the result of a rule may be used.
type quality int

const (
	optional   quality = iota // only for a measurement that is not required
	substitute                // for a required measurement too, as an estimate
	exact                     // as if taken: the plain difference of measurements
)

// rules lists the rules in the order in which they apply. Of the rules of one
// name, the first whose measurements are all known counts; later rules may use
// the results of earlier ones.
//
// In the sources, "handbook" is the standard women's chart of a British
// handbook (W. Aldrich, Metric Pattern Cutting for Women's Wear, size 12,
// height 1640 mm; from memory), "survey" is ANSUR II, women, computed, and
// "practice" is common practice of the trade without a published source.
var rules = []rule{
	// Heights above the floor.
	{WaistToHip, []Name{WaistHeight, HipHeight}, "waist_height - hip_height",
		func(b Body) float64 { return b.Value(WaistHeight) - b.Value(HipHeight) }, exact},
	{WaistToKnee, []Name{WaistHeight, KneeHeight}, "waist_height - knee_height",
		func(b Body) float64 { return b.Value(WaistHeight) - b.Value(KneeHeight) }, exact},
	{WaistToFloor, []Name{WaistHeight}, "waist_height",
		func(b Body) float64 { return b.Value(WaistHeight) }, exact},

	{ShoulderSlope, []Name{NapeHeight, AcromionHeight, ShoulderLength},
		"21 + half of what asin((nape_height - acromion_height - 10) / shoulder_length) differs from it, from 15 to 28 " +
			"(geometry; the nape lies about 10 above the side neck point, practice; half by regression: the angles of " +
			"the survey's heights have a standard deviation of 5.8, people's slopes one of about 4)",
		func(b Body) float64 {
			drop := b.Value(NapeHeight) - b.Value(AcromionHeight) - 10
			slope := math.Asin(clamp(drop/b.Value(ShoulderLength), -1, 1)) * 180 / math.Pi
			return clamp(21+(slope-21)/2, 15, 28)
		}, optional},
	{ScyeDepth, []Name{NapeHeight, ArmpitHeight, BustGirth},
		"1.05 (nape_height - armpit_height) + 28, within 25 of the depth by the bust (fitted to the survey)",
		func(b Body) float64 {
			byBust := scyeDepthByBust(b)
			return clamp(1.05*(b.Value(NapeHeight)-b.Value(ArmpitHeight))+28, byBust-25, byBust+25)
		}, optional},

	// Round the chest.
	{BackWidth, []Name{BackWidthArmpitLevel},
		"0.965 back_width_armpit_level (handbook 360 against survey 373 at bust 944)",
		func(b Body) float64 { return 0.965 * b.Value(BackWidthArmpitLevel) }, substitute},
	{UpperArmGirth, []Name{BustGirth}, "0.325 bust_girth (medians of the survey: women 0.322, men 0.337, arm flexed)",
		func(b Body) float64 { return 0.325 * b.Value(BustGirth) }, optional},
	{ChestWidth, []Name{BackWidth, BustGirth, UnderBustGirth, UpperArmGirth},
		"mean of 0.94 back_width and 0.365 (under_bust_girth + 157), " + chestLimits,
		func(b Body) float64 { return chestWidth(b, b.Value(UnderBustGirth)+standardFullness) }, optional},
	{ChestWidth, []Name{BackWidth, BustGirth, OverBustGirth, UpperArmGirth},
		"mean of 0.94 back_width and 0.365 (over_bust_girth + 50), " + chestLimits,
		func(b Body) float64 { return chestWidth(b, b.Value(OverBustGirth)+standardOverBust) }, optional},
	{ChestWidth, []Name{BackWidth, BustGirth, UpperArmGirth},
		"mean of 0.94 back_width and 0.365 bust_girth, " + chestLimits,
		func(b Body) float64 { return chestWidth(b, b.Value(BustGirth)) }, optional},
	{BustPointWidth, []Name{BustGirth},
		"0.2 bust_girth + 8, growing by 0.15 above 1100 (practice)",
		func(b Body) float64 {
			bust := b.Value(BustGirth)
			return 0.2*bust + 8 - 0.05*max(0, bust-1100)
		}, optional},

	// Lengths of the torso.
	{ShoulderSlope, nil, "21 degrees (practice)",
		func(Body) float64 { return 21 }, optional},
	{ScyeDepth, []Name{BustGirth}, "0.1 bust_girth + 103, growing by 0.03 above 1100 (practice; survey)",
		scyeDepthByBust, optional},
	{FrontWaistLength, []Name{NapeToWaist, NeckBaseGirth, BustGirth, NapeHeight, BustHeight},
		"0.64 nape_to_waist + 0.76 (nape_height - bust_height) + 0.12 (bust_girth - 880) + 11, 10 to 100 longer than the " +
			"back (fitted to 80 surfaces of women, standard deviation 14; the girths alone leave 20)",
		func(b Body) float64 {
			front := 0.64*b.Value(NapeToWaist) + 0.76*(b.Value(NapeHeight)-b.Value(BustHeight)) +
				0.12*(b.Value(BustGirth)-880) + 11
			return frontWaistLength(b, front-b.Value(NapeToWaist)-b.NeckRise())
		}, optional},
	{FrontWaistLength, []Name{NapeToWaist, NeckBaseGirth, BustGirth},
		"nape_to_waist + 0.055 neck_base_girth + 3 + 0.02 (bust_girth - 800), from 0 to 6, + what the girths say of " +
			"the bust: 24 + 0.1 (bust_girth - 880), or with a cup 24 + 0.28 of its fullness over the standard, which is " +
			"157 over the under bust and 50 over the over bust (surfaces 20, handbooks 24 to 25 at 880, from memory; " +
			"157 from ASTM D5585)",
		func(b Body) float64 { return frontWaistLength(b, b.BustByGirths().Value) }, optional},
	{SideNeckToBust, []Name{FrontWaistLength, NapeToWaist, BustGirth, NapeHeight, BustHeight},
		"1.1 (nape_height - bust_height) + 0.08 (bust_girth - 880) + 6 (fitted to 80 surfaces of women, standard " +
			"deviation 6)",
		func(b Body) float64 {
			length := 1.1*(b.Value(NapeHeight)-b.Value(BustHeight)) + 0.08*(b.Value(BustGirth)-880) + 6
			return sideNeckToBust(b, b.Value(FrontWaistLength)-length)
		}, optional},
	{SideNeckToBust, []Name{FrontWaistLength, NapeToWaist, BustHeight, WaistHeight},
		"front_waist_length - 1.03 (bust_height - waist_height) (geometry; 1.03 for the slope under the bust, practice)",
		func(b Body) float64 { return sideNeckToBust(b, 1.03*(b.Value(BustHeight)-b.Value(WaistHeight))) }, optional},
	{SideNeckToBust, []Name{FrontWaistLength, NapeToWaist, BustGirth},
		"0.235 bust_girth + 58 (practice)",
		func(b Body) float64 {
			return sideNeckToBust(b, b.Value(FrontWaistLength)-(0.235*b.Value(BustGirth)+58))
		}, optional},

	// The cup, last, so that its estimates decide none of the above.
	{UnderBustGirth, []Name{OverBustGirth}, "over_bust_girth - 107 (practice: both of the standard cup)",
		func(b Body) float64 { return b.Value(OverBustGirth) + standardOverBust - standardFullness }, optional},
	{UnderBustGirth, []Name{BustGirth}, "bust_girth - 157 (ASTM D5585: 156 to 162 in all its sizes)",
		func(b Body) float64 { return b.Value(BustGirth) - standardFullness }, optional},
	{OverBustGirth, []Name{BustGirth, UnderBustGirth},
		"bust_girth - 0.32 (bust_girth - under_bust_girth) (practice: 25 mm a cup)",
		func(b Body) float64 {
			return b.Value(BustGirth) - standardOverBust/standardFullness*(b.Value(BustGirth)-b.Value(UnderBustGirth))
		}, optional},

	// Below the waist. Rise and hip depth say more about a person than height.
	{WaistToFloor, []Name{OutsideLeg}, "outside_leg",
		func(b Body) float64 { return b.Value(OutsideLeg) }, exact},
	{WaistToHip, []Name{WaistToFloor, InsideLeg},
		"0.74 (waist_to_floor - inside_leg) (survey, women and men: standard deviation 20; handbook: 0.72)",
		func(b Body) float64 { return 0.74 * (b.Value(WaistToFloor) - b.Value(InsideLeg)) }, substitute},
	{WaistToHip, []Name{Height}, "0.125 height (handbook: 206 at 1640; the survey's waist is lower, at the navel)",
		func(b Body) float64 { return 0.125 * b.Value(Height) }, substitute},
	{WaistToKnee, []Name{Height}, "0.357 height (handbook: 585 at 1640; the survey's waist is lower, at the navel)",
		func(b Body) float64 { return 0.357 * b.Value(Height) }, optional},
	{WaistToKnee, []Name{WaistToHip}, "2.84 waist_to_hip (handbook: 585 to 206)",
		func(b Body) float64 { return 2.84 * b.Value(WaistToHip) }, optional},
	{BodyRise, []Name{WaistHeight, InsideLeg},
		"waist_height - inside_leg + 20 (seated it is about 20 longer than standing, practice)",
		func(b Body) float64 { return b.Value(WaistHeight) - b.Value(InsideLeg) + seated }, substitute},
	{BodyRise, []Name{OutsideLeg, InsideLeg}, "outside_leg - inside_leg + 20 (practice)",
		func(b Body) float64 { return b.Value(OutsideLeg) - b.Value(InsideLeg) + seated }, substitute},
	{BodyRise, []Name{TotalCrotchLength, HipGirth}, "(total_crotch_length - 0.21 hip_girth) / 2 + 20 (survey; practice)",
		func(b Body) float64 { return (b.Value(TotalCrotchLength)-0.21*b.Value(HipGirth))/2 + seated }, substitute},
	{BodyRise, []Name{Height}, "0.171 height (handbook: 280 at 1640)",
		func(b Body) float64 { return 0.171 * b.Value(Height) }, substitute},
	{InsideLeg, []Name{OutsideLeg, BodyRise}, "outside_leg - body_rise + 20 (practice)",
		func(b Body) float64 { return b.Value(OutsideLeg) - b.Value(BodyRise) + seated }, substitute},
	{TotalCrotchLength, []Name{BodyRise, HipGirth}, "2 (body_rise - 20) + 0.21 hip_girth (survey; practice)",
		func(b Body) float64 { return 2*(b.Value(BodyRise)-seated) + 0.21*b.Value(HipGirth) }, optional},
	{WaistToFloor, []Name{InsideLeg, BodyRise}, "inside_leg + body_rise - 20 (practice)",
		func(b Body) float64 { return b.Value(InsideLeg) + b.Value(BodyRise) - seated }, optional},
	{WaistToFloor, []Name{Height}, "0.634 height (handbook: 1040 at 1640; the survey's waist is lower, at the navel)",
		func(b Body) float64 { return 0.634 * b.Value(Height) }, optional},
	{WaistToFloor, []Name{WaistToKnee}, "1.78 waist_to_knee (handbook: 1040 to 585)",
		func(b Body) float64 { return 1.78 * b.Value(WaistToKnee) }, optional},
	{WaistToThigh, []Name{WaistToHip, WaistToKnee}, "half-way from waist_to_hip to waist_to_knee",
		func(b Body) float64 { return (b.Value(WaistToHip) + b.Value(WaistToKnee)) / 2 }, optional},
	{HighHipGirth, []Name{WaistGirth, HipGirth}, "a third of the way from hip_girth to waist_girth (practice)",
		func(b Body) float64 { return (b.Value(WaistGirth) + 2*b.Value(HipGirth)) / 3 }, optional},
	{WaistToBelly, []Name{BellyGirth, WaistToHip}, "0.4 waist_to_hip (practice)",
		func(b Body) float64 { return 0.4 * b.Value(WaistToHip) }, optional},

	// Feet. In ANSUR II (from memory) heel and ankle are 307 mm round on women of
	// 1628 mm with ankles of 216, 340 on men of 1756 with ankles of 229.
	{FootGirth, []Name{AnkleGirth}, "1.45 ankle_girth (ANSUR II, from memory)",
		func(b Body) float64 { return 1.45 * b.Value(AnkleGirth) }, optional},
	{FootGirth, []Name{Height}, "0.191 height (ANSUR II, from memory)",
		func(b Body) float64 { return 0.191 * b.Value(Height) }, optional},

	// Arms.
	{ElbowGirth, []Name{UpperArmGirth}, "0.55 upper_arm_girth + 100 (practice)",
		func(b Body) float64 { return 0.55*b.Value(UpperArmGirth) + 100 }, optional},
	{ShoulderToElbow, []Name{ArmLength}, "0.575 arm_length (practice)",
		func(b Body) float64 { return 0.575 * b.Value(ArmLength) }, optional},
}

// seated is the difference, in mm, of the body rise taken on a chair and the
// height of the waist above the crotch (practice; the handbook's 280 against
// 1040 less the survey's inside leg at that height gives 27).
const seated = 20

// standardFullness is bust less under bust of the standard figure, in mm. ASTM
// D5585-11e1 has an under bust of 723 at a bust of 880, and a fullness of 156
// to 162 mm in all its sizes from 4 to 20: a B cup by EN 13402 (from memory).
const standardFullness = 157.0

// standardOverBust is bust less over bust of the standard cup, in mm (common
// practice: 25 mm a cup, two for the standard one).
const standardOverBust = 50.0

// chestLimits says how chestWidth limits a chest width.
const chestLimits = "at most what 0.34 upper_arm_girth on each side leave of the girth, " +
	"from 0.31 to 0.41 of it (practice)"

// scyeDepthByBust grows with the bust as in the handbook's sizes, but hardly
// above 1100 mm: in the survey the armpits of fuller bodies lie no lower (0.007
// mm per mm of bust over all women at constant height).
func scyeDepthByBust(b Body) float64 {
	bust := b.Value(BustGirth)
	return 0.1*min(bust, 1100) + 103 + 0.03*max(0, bust-1100)
}

// chestWidth takes the bust girth of the frame with the standard fullness. It
// leaves room for the arms: 0.68 of an upper arm's girth for both.
func chestWidth(b Body, frame float64) float64 {
	room := min(frame, b.Value(BustGirth)) - b.Value(BackWidth) - 0.68*b.Value(UpperArmGirth)
	return clamp(min((0.94*b.Value(BackWidth)+0.365*frame)/2, room), 0.31*frame, 0.41*frame)
}

// frontWaistLength adds to the back's length the rise of the side neck point
// over the nape and the surplus over the bust that the bust dart takes up.
func frontWaistLength(b Body, surplus float64) float64 {
	return b.Value(NapeToWaist) + b.NeckRise() + clamp(surplus, 10, 100)
}

// sideNeckToBust keeps the bust well above the waist and below the armpits.
func sideNeckToBust(b Body, bustToWaist float64) float64 {
	back := b.Value(NapeToWaist)
	return b.Value(FrontWaistLength) - clamp(bustToWaist, max(100, 0.28*back), 0.56*back)
}

func clamp(v, low, high float64) float64 { return min(max(v, low), high) }

// applyRules adds the measurements that the rules derive from those of b.
func (b Body) applyRules() {
	for _, r := range rules {
		if !b.Has(r.name) && all(r.from, b.Has) {
			b.measures[r.name] = Measure{Value: r.value(b), Estimated: r.quality != exact, Source: r.source}
		}
	}
}
