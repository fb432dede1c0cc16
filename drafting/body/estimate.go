package body

import "math"

// A rule estimates one measurement from others. The formulas are those in
// common use for blocks; each says where it comes from.
type rule struct {
	name   Name
	from   []Name // all must be known, given or estimated
	source string
	value  func(b Body) float64
}

// rules in the order in which they are tried: the first of a name whose
// sources are all known is taken, and later rules may stand on earlier ones.
var rules = []rule{
	{BackWidth, []Name{BackWidthArmpitLevel},
		"0.965 back_width_armpit_level (mean of the survey's back width at the armpit folds against the handbook's chart at equal bust)",
		func(b Body) float64 { return 0.965 * b.Value(BackWidthArmpitLevel) }},

	{ChestWidth, []Name{BackWidth, BustGirth, UnderBustGirth, UpperArmGirth},
		"mean of 0.94 back_width and 0.365 (under_bust_girth + 157), so that the frame sets it and not the cup (common practice)",
		func(b Body) float64 { return chestWidth(b, b.Value(UnderBustGirth)+standardFullness) }},
	{ChestWidth, []Name{BackWidth, BustGirth, UpperArmGirth},
		"mean of 0.94 back_width and 0.365 bust_girth (common practice)",
		func(b Body) float64 { return chestWidth(b, b.Value(BustGirth)) }},

	{BustPointWidth, []Name{BustGirth},
		"0.2 bust_girth + 8, above 1100 mm 0.15 (common practice)",
		func(b Body) float64 {
			bust := b.Value(BustGirth)
			return 0.2*bust + 8 - 0.05*max(0, bust-1100)
		}},

	{ShoulderSlope, []Name{NapeHeight, AcromionHeight, ShoulderLength},
		"asin((nape_height - acromion_height - 10) / shoulder_length), 15 to 28 degrees",
		func(b Body) float64 {
			drop := b.Value(NapeHeight) - b.Value(AcromionHeight) - 10
			return clamp(math.Asin(clamp(drop/b.Value(ShoulderLength), -1, 1))*180/math.Pi, 15, 28)
		}},
	{ShoulderSlope, nil, "21 degrees (common practice)", func(Body) float64 { return 21 }},

	{ScyeDepth, []Name{NapeHeight, ArmpitHeight, BustGirth},
		"1.05 (nape_height - armpit_height) + 28, within 25 of 0.1 bust_girth + 103",
		func(b Body) float64 {
			usual := 0.1*b.Value(BustGirth) + 103
			return clamp(1.05*(b.Value(NapeHeight)-b.Value(ArmpitHeight))+28, usual-25, usual+25)
		}},
	{ScyeDepth, []Name{BustGirth}, "0.1 bust_girth + 103 (common practice)",
		func(b Body) float64 { return 0.1*b.Value(BustGirth) + 103 }},

	{FrontWaistLength, []Name{NapeToWaist, NeckBaseGirth, BustGirth, UnderBustGirth},
		"nape_to_waist + 0.055 neck_base_girth + 31 + 0.28 (bust_girth - under_bust_girth - 157) (7 mm for 25 mm of fullness, common practice)",
		func(b Body) float64 { return frontWaistLength(b, 28+0.28*(fullness(b)-standardFullness)) }},
	{FrontWaistLength, []Name{NapeToWaist, NeckBaseGirth, BustGirth},
		"nape_to_waist + 0.055 neck_base_girth + 31 + 0.09 (bust_girth - 880) (common practice)",
		func(b Body) float64 { return frontWaistLength(b, 28+0.09*(b.Value(BustGirth)-880)) }},

	{SideNeckToBust, []Name{FrontWaistLength, BustHeight, WaistHeight, NapeToWaist},
		"front_waist_length - 1.03 (bust_height - waist_height)",
		func(b Body) float64 { return sideNeckToBust(b, 1.03*(b.Value(BustHeight)-b.Value(WaistHeight))) }},
	{SideNeckToBust, []Name{FrontWaistLength, BustGirth, NapeToWaist},
		"0.235 bust_girth + 60 (common practice)",
		func(b Body) float64 {
			return sideNeckToBust(b, b.Value(FrontWaistLength)-(0.235*b.Value(BustGirth)+60))
		}},

	{WaistToHip, []Name{WaistHeight, HipHeight}, "waist_height - hip_height",
		func(b Body) float64 { return b.Value(WaistHeight) - b.Value(HipHeight) }},
	{WaistToHip, []Name{Height}, "0.125 height (handbook's standard chart: 206 mm at 1640)",
		func(b Body) float64 { return 0.125 * b.Value(Height) }},
	{WaistToKnee, []Name{WaistHeight, KneeHeight}, "waist_height - knee_height",
		func(b Body) float64 { return b.Value(WaistHeight) - b.Value(KneeHeight) }},
	{WaistToKnee, []Name{Height}, "0.357 height (handbook's standard chart: 585 mm at 1640)",
		func(b Body) float64 { return 0.357 * b.Value(Height) }},
	{WaistToKnee, []Name{WaistToHip}, "2.84 waist_to_hip (handbook's standard chart: 585 mm to 206 mm)",
		func(b Body) float64 { return 2.84 * b.Value(WaistToHip) }},
	{WaistToThigh, []Name{WaistToHip, WaistToKnee}, "half-way from waist_to_hip to waist_to_knee",
		func(b Body) float64 { return (b.Value(WaistToHip) + b.Value(WaistToKnee)) / 2 }},
	{WaistToFloor, []Name{WaistHeight}, "waist_height", func(b Body) float64 { return b.Value(WaistHeight) }},
	{WaistToFloor, []Name{OutsideLeg}, "outside_leg", func(b Body) float64 { return b.Value(OutsideLeg) }},
	{WaistToFloor, []Name{Height}, "0.634 height (handbook's standard chart: 1040 mm at 1640)",
		func(b Body) float64 { return 0.634 * b.Value(Height) }},

	{ElbowGirth, []Name{UpperArmGirth}, "0.55 upper_arm_girth + 100 (common practice)",
		func(b Body) float64 { return 0.55*b.Value(UpperArmGirth) + 100 }},
	{ShoulderToElbow, []Name{ArmLength}, "0.575 arm_length (common practice)",
		func(b Body) float64 { return 0.575 * b.Value(ArmLength) }},
}

// standardFullness is bust less under bust of the standard figure, mm:
// ASTM D5585-11e1 has 723 mm under a bust of 880, a B cup by EN 13402.
const standardFullness = 157

func fullness(b Body) float64 { return b.Value(BustGirth) - b.Value(UnderBustGirth) }

// chestWidth takes the bust girth that the frame would have with the standard
// fullness.
func chestWidth(b Body, frame float64) float64 {
	room := min(frame, b.Value(BustGirth)) - b.Value(BackWidth) - 0.68*b.Value(UpperArmGirth)
	return clamp(min((0.94*b.Value(BackWidth)+0.365*frame)/2, room), 0.31*frame, 0.41*frame)
}

func frontWaistLength(b Body, surplus float64) float64 {
	return b.Value(NapeToWaist) + 0.055*b.Value(NeckBaseGirth) + 3 + clamp(surplus, 10, 100)
}

func sideNeckToBust(b Body, bustToWaist float64) float64 {
	back := b.Value(NapeToWaist)
	return b.Value(FrontWaistLength) - clamp(bustToWaist, max(100, 0.28*back), 0.56*back)
}

func clamp(v, low, high float64) float64 { return min(max(v, low), high) }

// estimate adds what follows from the measurements that b has.
func (b Body) estimate() {
rules:
	for _, r := range rules {
		if b.Has(r.name) {
			continue
		}
		for _, n := range r.from {
			if !b.Has(n) {
				continue rules
			}
		}
		b.measures[r.name] = Measure{Value: r.value(b), Estimated: true, Source: r.source}
	}
}
