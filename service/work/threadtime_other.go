//go:build !linux

package work

import "time"

// threadTime returns a function that returns the time since. Only on Linux does
// it leave out the time for which the thread waits for a processor.
func threadTime() (used func() time.Duration) {
	start := time.Now()
	return func() time.Duration { return time.Since(start) }
}
