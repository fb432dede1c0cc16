package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"tapeline/db/dbtest"
)

// stepAfter is when the clock of a replica is set, from the start of its process.
const stepAfter = 10 * time.Second

// stepping is the source that replaces the standard library's time.Now. Everything
// in the process then sees a machine whose clock is set by an hour, the queue and
// the driver of the database too. As on a machine, the monotonic clock goes on.
const stepping = `package time

import "syscall"

var (
	step, _  = syscall.Getenv("CLOCK_STEP")       // seconds
	after, _ = syscall.Getenv("CLOCK_STEP_AFTER") // seconds
	stepBy   = number(step)
	stepAt   = number(after) * 1e9
)

func number(s string) int64 { n, _ := atoi(s); return int64(n) }

// stepped returns by how many seconds the clock is set.
func stepped(mono int64) int64 {
	if mono-startNano < stepAt {
		return 0
	}
	return stepBy
}
`

// buildStepping compiles the program with that clock, which compiles the standard
// library again.
func buildStepping(t *testing.T) string {
	dir := t.TempDir()
	write := func(name, content string) string {
		name = filepath.Join(dir, name)
		if err := os.WriteFile(name, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	standard := filepath.Join(strings.TrimSpace(string(root)), "src", "time")
	source, err := os.ReadFile(filepath.Join(standard, "time.go"))
	if err != nil {
		t.Fatal(err)
	}
	const now = "sec, nsec, mono := runtimeNow()\n\tif mono == 0 {"
	if strings.Count(string(source), now) != 1 {
		t.Fatalf("time.Now of %s is another", runtime.Version())
	}
	changed := strings.Replace(string(source), now, strings.Replace(now, "\n", "\n\tsec += stepped(mono)\n", 1), 1)
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {
		filepath.Join(standard, "time.go"): write("time.go", changed),
		filepath.Join(standard, "step.go"): write("step.go", stepping),
	}})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "tapeline")
	out, err := exec.Command("go", "build", "-overlay", write("overlay.json", string(overlay)), "-o", file,
		"tapeline/cmd/tapeline").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return file
}

// The clock of one of two replicas is set by an hour, forward and back, under load.
// No order and no message is lost, delayed by that hour, or delivered again after it
// was taken, and a link expires at the same moment for both replicas.
func TestClockStepped(t *testing.T) {
	if os.Getenv("TAPELINE_WHOLE") == "" {
		t.Skip("compiles the standard library again, which takes minutes; set TAPELINE_WHOLE=1")
	}
	t.Parallel()
	program := buildStepping(t)
	for _, step := range []time.Duration{time.Hour, -time.Hour} {
		t.Run(step.String(), func(t *testing.T) {
			t.Parallel()
			pg := dbtest.NewServer(t)
			began := time.Now()
			stepped := serveWith(t, program, []string{"CLOCK_STEP=" + fmt.Sprint(step.Seconds()),
				"CLOCK_STEP_AFTER=" + fmt.Sprint(stepAfter.Seconds())}, pg.URL())
			s, r := shopOn(t, pg.URL(), &[2]*replica{serve(t, pg.URL()), stepped})
			r.once = true
			s.pace = time.Second
			const orders = 120
			ids := s.orders(orders, func() { time.Sleep(time.Until(began.Add(stepAfter + time.Second))) })
			s.settled(ids, orders, r)
			if logged := stepped.ahead(t); (logged - step).Abs() > time.Minute {
				t.Errorf("the replica's machine is %v ahead, want %v", logged, step)
			}
			s.linksExpire(ids, stepped.base)
		})
	}
}

// linksExpire checks that a link of one replica can be followed at the other until it
// expires.
func (s *shop) linksExpire(ids map[string]bool, at string) {
	s.Helper()
	follow := func(address string) int {
		a, err := s.http.Get(at + address[strings.Index(address, "/v1/links/"):])
		if err != nil {
			s.Error(err)
			return 0
		}
		defer a.Body.Close()
		return a.StatusCode
	}
	link := func(order string, seconds int) (address string) {
		var l struct{ URL string }
		_ = json.Unmarshal(s.until(http.StatusCreated, "POST", "/v1/orders/"+order+"/links", "",
			fmt.Sprintf(`{"expires_in": %d}`, seconds)), &l)
		return l.URL
	}
	for order := range ids {
		short, long := link(order, 60), link(order, 1800)
		if got := follow(long); got != http.StatusOK {
			s.Errorf("a link for half an hour: status %d", got)
		}
		time.Sleep(61 * time.Second)
		if got := follow(short); got != http.StatusGone {
			s.Errorf("a link for a minute, after it: status %d", got)
		}
		return
	}
}
