package body

import (
	"fmt"
	"strconv"
	"strings"

	"tapeline/drafting/fault"
)

// bound is a relation between measurements that every body keeps: the sum of
// parts is at most factor times of. Read the other way round it is a lower
// bound of the latter.
type bound struct {
	parts  []Name
	factor float64
	of     Name
	reason string
}

func one(n Name) []Name { return []Name{n} }

// tooFarApart is the reason of bounds between two girths.
const tooFarApart = "so far apart, one of the two is taken for a slip of the tape or the pen"

// bounds lists the relations. Some are geometry: a part is no longer than the
// whole. The factors of the others are our own and well beyond every body of
// the survey (ANSUR II, women and men; a test checks this), because they are
// to catch only numbers that no person can have.
var bounds = []bound{
	// Round the chest.
	{[]Name{BackWidth, ChestWidth}, 0.95, BustGirth, "the arms take the rest of the girth"},
	{one(BackWidth), 0.58, BustGirth, "the back is not much more than half of the girth"},
	{one(BackWidthArmpitLevel), 0.6, BustGirth, "the back is not much more than half of the girth"},
	{one(ChestWidth), 0.56, BustGirth, "the chest is not much more than half of the girth"},
	{one(BustGirth), 5, BackWidth, "a back is more than a fifth of the girth"},
	{one(BustGirth), 5.5, ChestWidth, "a chest is more than a sixth of the girth"},
	{one(BackWidth), 1.15, BackWidthArmpitLevel, "the back is widest at the armpits"},
	{one(BustPointWidth), 0.35, BustGirth, "the bust points lie in front"},
	{one(UnderBustGirth), 1, BustGirth, "the bust girth is taken at the fullest part"},
	{one(BustGirth), 1.7, UnderBustGirth, tooFarApart},
	{one(OverBustGirth), 1.15, BustGirth, "the bust girth is taken at the fullest part"},
	{one(BustGirth), 1.4, OverBustGirth, tooFarApart},
	{one(OverBustGirth), 1.4, UnderBustGirth, tooFarApart},
	{one(UnderBustGirth), 1.15, OverBustGirth, tooFarApart},
	{one(WaistGirth), 2, BustGirth, tooFarApart},
	{one(BustGirth), 2.2, WaistGirth, tooFarApart},

	// Hips and legs.
	{one(WaistGirth), 1.8, HipGirth, tooFarApart},
	{one(HipGirth), 2.4, WaistGirth, tooFarApart},
	{one(HipGirth), 2, BustGirth, tooFarApart},
	{one(BustGirth), 2, HipGirth, tooFarApart},
	{one(HighHipGirth), 1.4, HipGirth, "the hip is the fullest part of the buttocks"},
	{one(HipGirth), 1.6, HighHipGirth, "the hip bones lie just above"},
	{one(WaistGirth), 1.05, BellyGirth, "the belly girth is taken at the fullest part"},
	{one(BellyGirth), 2.2, WaistGirth, tooFarApart},
	{one(BellyGirth), 2, HipGirth, tooFarApart},
	{one(HipGirth), 1.6, BellyGirth, tooFarApart},
	{one(WaistToBelly), 0.85, WaistToHip, "the belly is fullest above the hip"},
	{one(ThighGirth), 0.9, HipGirth, "a thigh is less than the hip"},
	{one(HipGirth), 2.8, ThighGirth, "two thighs make most of the hip"},
	{one(KneeGirth), 1, ThighGirth, "the thigh is the fullest part of the leg"},
	{one(CalfGirth), 1.1, ThighGirth, "the thigh is the fullest part of the leg"},
	{one(AnkleGirth), 1, CalfGirth, "the calf is fuller than the ankle"},

	// Neck and shoulders.
	{one(NeckGirth), 1.1, NeckBaseGirth, "the neck widens to its base"},
	{one(NeckBaseGirth), 1.7, NeckGirth, "the base is hardly wider than the neck"},
	{one(NeckBaseGirth), 0.75, BustGirth, "a neck is less than the chest"},
	{one(ShoulderLength), 0.75, BackWidth, "two shoulders and the neck make the back"},
	{one(BackWidth), 6, ShoulderLength, "two shoulders and the neck make the back"},

	// Lengths of the torso.
	{one(NapeToWaist), 0.4, Height, "the back to the waist is about a quarter of the height"},
	{one(Height), 6, NapeToWaist, "the back to the waist is about a quarter of the height"},
	{one(ScyeDepth), 0.85, NapeToWaist, "the armpits lie well above the waist"},
	{one(NapeToWaist), 4.5, ScyeDepth, "the armpits lie well below the nape"},
	{one(FrontWaistLength), 1.5, NapeToWaist, "front and back to the waist are of like length"},
	{one(NapeToWaist), 1.25, FrontWaistLength, "front and back to the waist are of like length"},
	{one(SideNeckToBust), 0.95, FrontWaistLength, "the bust lies above the waist"},
	{one(FrontWaistLength), 3, SideNeckToBust, "the bust does not lie at the neck"},
	{one(WaistToHip), 0.22, Height, "the hip is about an eighth of the height below the waist"},
	{one(WaistToHip), 0.95, WaistToThigh, "the thigh lies below the hip"},
	{one(WaistToThigh), 0.98, WaistToKnee, "the knee lies below the thigh"},
	{one(WaistToHip), 0.7, WaistToKnee, "the knee lies well below the hip"},
	{one(WaistToKnee), 0.8, WaistToFloor, "the knee lies above the floor"},
	{one(WaistToKnee), 0.5, Height, "waist to knee is about a third of the height"},
	{one(Height), 5, WaistToKnee, "waist to knee is about a third of the height"},
	{one(WaistToFloor), 0.78, Height, "the waist lies below the ribs"},
	{one(Height), 2.3, WaistToFloor, "the waist lies above the middle of the height"},
	{one(OutsideLeg), 0.8, Height, "the waist lies below the ribs"},
	{one(InsideLeg), 0.95, OutsideLeg, "the crotch lies below the waist"},
	{one(InsideLeg), 0.95, WaistToFloor, "the crotch lies below the waist"},
	{one(InsideLeg), 0.62, Height, "the legs are about half of the height"},
	{one(Height), 3, InsideLeg, "the legs are about half of the height"},
	{[]Name{BodyRise, InsideLeg}, 1.25, OutsideLeg, "rise and inside leg make the outside leg"},
	{one(BodyRise), 0.6, TotalCrotchLength, "the crotch length goes down in front and up at the back"},

	// Arms.
	{one(WristGirth), 0.9, UpperArmGirth, "the arm is fuller than the wrist"},
	{one(WristGirth), 1, ElbowGirth, "the elbow is fuller than the wrist"},
	{one(ElbowGirth), 1.6, UpperArmGirth, "elbow and upper arm are of like girth"},
	{one(WristGirth), 1.25, HandGirth, "a hand is fuller than its wrist"},
	{one(UpperArmGirth), 0.6, BustGirth, "an arm is less than the chest"},
	{one(ShoulderToElbow), 0.75, ArmLength, "the forearm is the rest of the arm"},
	{one(ArmLength), 2.5, ShoulderToElbow, "the upper arm is more than half of the arm"},
	{one(ArmLength), 0.48, Height, "an arm is about a third of the height"},
	{one(Height), 5, ArmLength, "an arm is about a third of the height"},
	{one(ArmLength), 0.9, NapeToWrist, "the shoulder comes before the arm"},
	{one(NapeToWrist), 2.2, ArmLength, "the shoulder is less than the arm"},

	// Heights above the floor, from the top down.
	{one(NapeHeight), 0.95, Height, "the head lies above the nape"},
	{one(Height), 1.35, NapeHeight, "the head is about an eighth of the height"},
	{one(AcromionHeight), 1.02, NapeHeight, "the shoulders fall from the nape"},
	{one(ArmpitHeight), 0.98, AcromionHeight, "the armpit lies below the shoulder"},
	{one(BustHeight), 1.06, ArmpitHeight, "the bust lies at or below the armpits"},
	{one(WaistHeight), 0.97, BustHeight, "the waist lies below the bust"},
	{one(HipHeight), 0.98, WaistHeight, "the hip lies below the waist"},
	{one(InsideLeg), 1.1, HipHeight, "the crotch lies no higher than the hip"},
	{one(KneeHeight), 0.75, HipHeight, "the knee lies well below the hip"},
	{one(KneeHeight), 0.8, InsideLeg, "the knee lies below the crotch"},
	{one(WaistHeight), 0.78, Height, "the waist lies below the ribs"},
}

// contradictions returns a fault for each bound that m breaks, with lengths in
// unit. It skips bounds on measurements that m lacks.
func contradictions(m Measures, unit Unit) fault.List {
	var faults fault.List
	for _, b := range bounds {
		sum, known := b.sum(m)
		whole, ok := m[b.of]
		if !known || !ok || sum <= b.factor*whole {
			continue
		}
		faults = append(faults, b.fault(m, sum, unit))
	}
	return faults
}

func (b bound) sum(m Measures) (sum float64, known bool) {
	for _, n := range b.parts {
		v, ok := m[n]
		if !ok {
			return 0, false
		}
		sum += v
	}
	return sum, true
}

func (b bound) fault(m Measures, sum float64, unit Unit) fault.Fault {
	var parts []string
	related := make([]string, 0, len(b.parts))
	for i, n := range b.parts {
		parts = append(parts, fmt.Sprintf("%s %s", n, unit.Format(m[n])))
		if i > 0 {
			related = append(related, Field(n))
		}
	}
	related = append(related, Field(b.of))
	value := strings.Join(parts, " + ")
	if len(parts) > 1 {
		value += " = " + unit.Format(sum)
	}
	limit := "at most "
	if b.factor != 1 {
		limit += strconv.FormatFloat(b.factor, 'g', -1, 64) + " of "
	}
	return fault.Fault{
		Code: fault.Contradiction, Field: Field(b.parts[0]), Value: value, Related: related,
		Accepted: fmt.Sprintf("%s%s %s: %s", limit, b.of, unit.Format(m[b.of]), b.reason),
	}
}
