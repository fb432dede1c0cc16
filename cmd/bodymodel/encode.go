package main

import "regexp"

var numberBreak = regexp.MustCompile(`([\[0-9],?)\n\s+(-?[0-9]|\])`)

// joinNumbers joins the numbers of each array, which indented JSON has one per
// line, on one line.
func joinNumbers(indented []byte) []byte {
	for {
		joined := numberBreak.ReplaceAll(indented, []byte("$1$2"))
		if len(joined) == len(indented) {
			return joined
		}
		indented = joined
	}
}
