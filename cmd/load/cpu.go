package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// cpu is the processor time of the server with its replicas, and of its Postgres. On a machine with other
// work it says more than the clock.
type cpu struct{ server, postgres time.Duration }

func (s *server) cpu() cpu {
	c := cpu{server: processTime(s.cmd.Process.Pid, false)}
	for _, p := range s.others {
		c.server += processTime(p.cmd.Process.Pid, false)
	}
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

// processTime returns the user and system time of a process, optionally with that of
// its ended children (proc(5): utime, stime, cutime, cstime).
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
