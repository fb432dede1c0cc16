package body

import "slices"

// infos lists all measurements in the order of display.
//
// The hard limits are our own. They include every body of the survey (ANSUR II)
// and of the EN 13402-3 grid with a wide margin, from small teenagers to the
// largest plus sizes, so that they catch typing errors but no person. A test
// checks this.
var infos = [...]Info{
	{Height, "height", "floor to the top of the head, without shoes", Millimetre, 1200, 2300},

	{BustGirth, "bust", "level round the fullest part of the bust or chest", Millimetre, 600, 2000},
	{OverBustGirth, "over bust", "round the chest above the bust, high under the arms and level at the back",
		Millimetre, 580, 1900},
	{UnderBustGirth, "under bust", "level round the ribs just below the bust", Millimetre, 500, 1800},
	{WaistGirth, "waist", "level round the natural waist, between the lowest rib and the hip bone",
		Millimetre, 450, 2000},
	{HighHipGirth, "high hip", "level round the body over the front of the hip bones", Millimetre, 520, 2100},
	{HipGirth, "hip", "level round the fullest part of the buttocks", Millimetre, 600, 2200},
	{BellyGirth, "belly", "in pregnancy, level round the fullest part of the belly, or the girth to grow into",
		Millimetre, 550, 2200},
	{NeckGirth, "neck", "round the middle of the neck", Millimetre, 220, 650},
	{NeckBaseGirth, "neck base",
		"round the base of the neck, over the nape bone, the side neck points and the pit in front",
		Millimetre, 250, 700},
	{HeadGirth, "head", "level round the fullest part of the head, above the ears", Millimetre, 450, 700},

	{ShoulderLength, "shoulder", "side neck point to shoulder point, at the end of the collar bone",
		Millimetre, 70, 230},
	{ShoulderSlope, "shoulder slope", "angle of the shoulder below the horizontal", Degree, 5, 40},
	{BackWidth, "across back",
		"arm crease to arm crease across the back, half-way down the armhole, arms a little forward",
		Millimetre, 220, 750},
	{BackWidthArmpitLevel, "across back at the armpits",
		"fold of one armpit to fold of the other across the back, arms hanging",
		Millimetre, 230, 770},
	{ChestWidth, "across front",
		"arm crease to arm crease across the chest, half-way down the armhole, arms a little forward",
		Millimetre, 200, 700},
	{BustPointWidth, "bust point width", "bust point to bust point", Millimetre, 100, 420},

	{SideNeckToBust, "side neck to bust", "side neck point to bust point", Millimetre, 160, 550},
	{NapeToWaist, "nape to waist", "nape bone down the spine to the waist", Millimetre, 270, 650},
	{FrontWaistLength, "front waist length", "side neck point over the bust point to the waist",
		Millimetre, 280, 800},
	{ScyeDepth, "scye depth", "nape bone down the spine to the level of the armpits", Millimetre, 110, 400},
	{WaistToHip, "waist to hip", "waist to the level of the hip girth, down the side", Millimetre, 50, 380},
	{WaistToBelly, "waist to belly", "waist to the level of the belly girth, down the side", Millimetre, 10, 250},
	{WaistToThigh, "waist to thigh", "waist to half-way between hip and knee, down the side", Millimetre, 200, 650},
	{WaistToKnee, "waist to knee", "waist to the middle of the knee, down the side", Millimetre, 350, 900},
	{WaistToFloor, "waist to floor", "waist to the floor, down the side", Millimetre, 650, 1550},

	{UpperArmGirth, "upper arm", "round the fullest part of the upper arm, arm relaxed", Millimetre, 150, 750},
	{ElbowGirth, "elbow", "round the elbow, arm bent", Millimetre, 150, 650},
	{WristGirth, "wrist", "round the wrist over the wrist bone", Millimetre, 100, 330},
	{HandGirth, "hand", "round the knuckles with the thumb laid in", Millimetre, 140, 350},
	{ArmLength, "arm length", "shoulder point over the slightly bent elbow to the wrist bone",
		Millimetre, 350, 900},
	{ShoulderToElbow, "shoulder to elbow", "shoulder point to the tip of the bent elbow", Millimetre, 190, 520},
	{NapeToWrist, "nape to wrist", "nape bone over shoulder point and elbow to the wrist bone",
		Millimetre, 500, 1250},

	{BodyRise, "body rise", "seated, waist to the chair at the side", Millimetre, 130, 500},
	{TotalCrotchLength, "total crotch length", "waist in front, between the legs, to waist at the back",
		Millimetre, 380, 1300},
	{InsideLeg, "inside leg", "crotch to the floor", Millimetre, 480, 1200},
	{OutsideLeg, "outside leg", "waist to the floor over the hip at the side", Millimetre, 650, 1550},
	{ThighGirth, "thigh", "level round the fullest part of the thigh", Millimetre, 300, 1250},
	{KneeGirth, "knee", "round the knee, slightly bent", Millimetre, 220, 850},
	{CalfGirth, "calf", "level round the fullest part of the calf", Millimetre, 200, 800},
	{AnkleGirth, "ankle", "round the ankle over the bone", Millimetre, 140, 480},
	{FootGirth, "foot", "round heel and instep, as a trouser leg must pass it", Millimetre, 200, 500},

	{NapeHeight, "height of the nape", "floor to the nape bone", Millimetre, 1000, 2000},
	{AcromionHeight, "height of the shoulder", "floor to the shoulder point", Millimetre, 950, 1950},
	{ArmpitHeight, "height of the armpit", "floor to the level of the armpit", Millimetre, 850, 1850},
	{BustHeight, "height of the bust", "floor to the level of the bust girth", Millimetre, 800, 1750},
	{WaistHeight, "height of the waist", "floor to the level of the waist girth", Millimetre, 650, 1550},
	{HipHeight, "height of the hip", "floor to the level of the hip girth", Millimetre, 530, 1300},
	{KneeHeight, "height of the knee", "floor to the middle of the knee cap", Millimetre, 280, 750},
}

var infoByName = func() map[Name]int {
	m := make(map[Name]int, len(infos))
	for i, info := range infos {
		m[info.Name] = i
	}
	return m
}()

// All returns all measurements in the order of display.
func All() []Info { return slices.Clone(infos[:]) }

// Lookup returns the measurement of a name.
func Lookup(n Name) (Info, bool) {
	i, ok := infoByName[n]
	if !ok {
		return Info{}, false
	}
	return infos[i], true
}
