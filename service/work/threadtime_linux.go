package work

import (
	"time"

	"golang.org/x/sys/unix"
)

// threadTime returns a function that returns the processor time that the calling
// thread has used since. Any thread may call it.
func threadTime() (used func() time.Duration) {
	const perThread, scheduled = 4, 2 // of clock_gettime(2), as pthread_getcpuclockid(3) makes them
	clock := int32(^unix.Gettid()<<3 | perThread | scheduled)
	now := func() time.Duration {
		var t unix.Timespec
		_ = unix.ClockGettime(clock, &t) // 0 once the thread has ended
		return time.Duration(t.Nano())
	}
	start := now()
	return func() time.Duration { return now() - start }
}
