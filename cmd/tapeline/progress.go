package main

import (
	"fmt"
	"io"
	"time"
)

// everySo is the time between two lines that say how far a long proof is.
const everySo = 10 * time.Second

// progressOn returns a function that prints how many drafts of a proof are done, and how long the rest
// will take, every ten seconds.
func progressOn(w io.Writer) func(done, of int) {
	start := time.Now()
	next := start.Add(everySo)
	return func(done, of int) {
		now := time.Now()
		if done == of || now.Before(next) {
			return
		}
		next = now.Add(everySo)
		left := time.Duration(float64(now.Sub(start)) * float64(of-done) / float64(done))
		fmt.Fprintf(w, "tapeline prove: %d of %d drafts, about %v left\n", done, of, left.Round(time.Second))
	}
}
