// Package body holds what is measured on a person: the names of the
// measurements (ISO 8559-1 terms in snake_case), how each is taken, the hard
// limits that bracket human bodies, the combinations that no body can have,
// and the estimates that stand in for measurements that were not taken.
//
// Lengths are mm; the slope of the shoulder is in degrees. Units other than
// these end at the order file.
package body

// Name is the name of a measurement.
type Name string

// The measurements by the terms of ISO 8559-1:2017 (from memory).
const (
	Height Name = "height"

	BustGirth      Name = "bust_girth"
	UnderBustGirth Name = "under_bust_girth"
	WaistGirth     Name = "waist_girth"
	HighHipGirth   Name = "high_hip_girth"
	HipGirth       Name = "hip_girth"
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

// Heights above the floor, from which lengths along the body follow.
const (
	NapeHeight     Name = "nape_height"
	AcromionHeight Name = "acromion_height"
	ArmpitHeight   Name = "armpit_height"
	BustHeight     Name = "bust_height"
	WaistHeight    Name = "waist_height"
	HipHeight      Name = "hip_height"
	KneeHeight     Name = "knee_height"
)

// Info describes one measurement.
type Info struct {
	Name  Name
	Title string  // as written on paper
	How   string  // one line on how to take it
	Unit  Unit    // of Min and Max, and of every value of this name
	Min   float64 // hard limits: outside them it is no human body
	Max   float64
}
