package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// cpu is the processor time that the server and its Postgres have used. On a
// machine that does other work besides, it says more than the clock.
type cpu struct{ server, postgres time.Duration }

func (s *server) cpu() cpu {
	c := cpu{server: processTime(s.cmd.Process.Pid, false)}
	pid, err := os.ReadFile(filepath.Join(s.data, "postgres", "postmaster.pid"))
	if err != nil {
		return c
	}
	postmaster, err := strconv.Atoi(strings.Fields(string(pid))[0])
	if err != nil {
		return c
	}
	c.postgres = processTime(postmaster, true) // with those that have ended
	children, _ := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", postmaster, postmaster))
	for _, child := range strings.Fields(string(children)) {
		if pid, err := strconv.Atoi(child); err == nil {
			c.postgres += processTime(pid, false)
		}
	}
	return c
}

// tick is USER_HZ, the unit of times in proc(5).
const tick = 10 * time.Millisecond

// processTime is user and system time of a process, with that of its ended
// children if asked for (proc(5): utime, stime, cutime, cstime).
func processTime(pid int, ended bool) time.Duration {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(stat), ") ") // past the name, which may hold spaces
	fields := strings.Fields(rest)
	var ticks int64
	for i, last := 11, map[bool]int{false: 12, true: 14}[ended]; i <= last; i++ {
		n, _ := strconv.ParseInt(fields[i], 10, 64)
		ticks += n
	}
	return time.Duration(ticks) * tick
}
