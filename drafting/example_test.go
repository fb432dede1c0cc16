package drafting_test

import (
	"context"
	"fmt"

	"tapeline/drafting"
)

func ExampleNewOrder() {
	_, faults := drafting.NewOrder(drafting.OrderInput{
		Unit: "cm", Block: "torso", Fit: "close",
		Measurements: map[string]float64{
			"height": 168, "bust": 92, "waist_girth": 74, "hip_girth": 100, "neck_base_girth": 37,
			"shoulder_length": 12.4, "back_width": 35, "nape_to_waist": 16.5, "upper_arm_girth": 28,
			"wrist_girth": 16, "arm_length": 58,
		},
	})
	fmt.Println(faults)
	// Output:
	// /measurements/bust: "bust": unknown measurement; did you mean bust_girth?
	// /measurements/nape_to_waist: 16.5 cm: nape to waist is from 27 to 65 cm; is it in inch?
	// /measurements/bust_girth: required: level round the fullest part of the bust or chest
}

func ExampleDraft() {
	order, faults := drafting.NewOrder(drafting.OrderInput{
		Unit: "cm", Style: "flared-skirt",
		Measurements: map[string]float64{"waist_girth": 74, "hip_girth": 100, "waist_to_hip": 20, "waist_to_knee": 58},
	})
	if len(faults) > 0 {
		fmt.Println(faults)
		return
	}
	pattern, err := drafting.Draft(context.Background(), order)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, piece := range pattern.Pieces {
		fmt.Println(piece.Title)
	}
	// Output:
	// Skirt front
	// Skirt back
	// Waistband
}
