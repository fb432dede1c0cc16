// Package body defines the measurements of a person: their names (ISO 8559-1
// terms in snake_case), how to take them, hard limits, combinations that no
// body has, and estimates of measurements that were not taken.
//
// Lengths are in mm, the slope of the shoulder in degrees. A Unit converts
// lengths where they enter or leave the program.
package body

// Name is the name of a measurement.
type Name string

// The measurements by the terms of ISO 8559-1:2017 (from memory).
const (
	Height Name = "height"

	BustGirth      Name = "bust_girth"
	OverBustGirth  Name = "over_bust_girth" // a trade measure, not a term of the standard
	UnderBustGirth Name = "under_bust_girth"
	WaistGirth     Name = "waist_girth"
	HighHipGirth   Name = "high_hip_girth"
	HipGirth       Name = "hip_girth"
	BellyGirth     Name = "belly_girth" // a trade measure, not a term of the standard
	NeckGirth      Name = "neck_girth"
	NeckBaseGirth  Name = "neck_base_girth"
	HeadGirth      Name = "head_girth"

	ShoulderLength       Name = "shoulder_length"
	ShoulderSlope        Name = "shoulder_slope"
	BackWidth            Name = "back_width"
	BackWidthArmpitLevel Name = "back_width_armpit_level"
	ChestWidth           Name = "chest_width"
	BustPointWidth       Name = "bust_point_width"

	SideNeckToBust   Name = "side_neck_to_bust"
	NapeToWaist      Name = "nape_to_waist"
	FrontWaistLength Name = "front_waist_length"
	ScyeDepth        Name = "scye_depth"
	WaistToHip       Name = "waist_to_hip"
	WaistToBelly     Name = "waist_to_belly" // a trade measure
	WaistToThigh     Name = "waist_to_thigh"
	WaistToKnee      Name = "waist_to_knee"
	WaistToFloor     Name = "waist_to_floor"

	UpperArmGirth   Name = "upper_arm_girth"
	ElbowGirth      Name = "elbow_girth"
	WristGirth      Name = "wrist_girth"
	HandGirth       Name = "hand_girth"
	ArmLength       Name = "arm_length"
	ShoulderToElbow Name = "shoulder_to_elbow"
	NapeToWrist     Name = "nape_to_wrist"

	BodyRise          Name = "body_rise"
	TotalCrotchLength Name = "total_crotch_length"
	InsideLeg         Name = "inside_leg"
	OutsideLeg        Name = "outside_leg"
	ThighGirth        Name = "thigh_girth"
	KneeGirth         Name = "knee_girth"
	CalfGirth         Name = "calf_girth"
	AnkleGirth        Name = "ankle_girth"
	FootGirth         Name = "foot_girth"
)

// Heights above the floor, from which lengths along the body are derived.
const (
	NapeHeight     Name = "nape_height"
	AcromionHeight Name = "acromion_height"
	ArmpitHeight   Name = "armpit_height"
	BustHeight     Name = "bust_height"
	WaistHeight    Name = "waist_height"
	HipHeight      Name = "hip_height"
	KneeHeight     Name = "knee_height"
)

// Info describes a measurement.
type Info struct {
	Name  Name
	Title string  // as printed
	How   string  // how to take it, in one line
	Unit  Unit    // Millimetre or Degree: of Min, Max and all values
	Min   float64 // hard limits of human bodies
	Max   float64
}

// allows reports whether v is inside the hard limits. NaN is not.
func (i Info) allows(v float64) bool { return v >= i.Min && v <= i.Max }
