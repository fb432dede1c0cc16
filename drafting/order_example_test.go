package drafting_test

import (
	"fmt"

	"tapeline/drafting"
)

func ExampleParseOrder() {
	_, err := drafting.ParseOrder([]byte(`{
		"reference": "ORD-9", "unit": "cm", "block": "torso", "fit": "close",
		"measurements": {
			"height": 168, "bust": 92, "waist_girth": 74, "hip_girth": 100, "neck_base_girth": 37,
			"shoulder_length": 12.4, "back_width": 35, "nape_to_waist": 16.5, "upper_arm_girth": 28,
			"wrist_girth": 16, "arm_length": 58
		}
	}`))
	fmt.Println(err)
	// Output:
	// /measurements/bust: "bust": unknown measurement; did you mean bust_girth?
	// /measurements/nape_to_waist: 16.5 cm: nape to waist is from 27 to 65 cm; is it in inch?
	// /measurements/bust_girth: required: level round the fullest part of the bust or chest
}
