package lay

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

func cpu() time.Duration {
	var r syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

// LAYSET="name=value,..."
func TestTune(t *testing.T) {
	set := os.Getenv("LAYSET")
	if set == "" {
		t.Skip()
	}
	secs := 10.0
	seed := uint64(1)
	only := ""
	for _, kv := range strings.Split(set, ",") {
		k, v, _ := strings.Cut(kv, "=")
		f, _ := strconv.ParseFloat(v, 64)
		switch k {
		case "secs":
			secs = f
		case "seed":
			seed = uint64(f)
		case "only":
			only = v
		case "firstCut":
			firstCut = f
		case "exploreCut":
			exploreCut = f
		case "cfrom":
			compressFrom = f
		case "cto":
			compressTo = f
		case "exploring":
			exploring = f
		case "patience":
			patience = int(f)
		case "strikes":
			strikesMost = int(f)
		case "far":
			farTries = int(f)
		case "near":
			nearTries = int(f)
		case "gm":
			grownMost = f
		case "gl":
			grownLeast = f
		case "shrunk":
			shrunk = f
		case "coarse":
			coarse = f
		case "fine":
			fine = f
		case "power":
			power = f
		case "sizing":
			sizing = f
		}
	}
	sum := 0.0
	line := ""
	for _, in := range published {
		if only != "" && in.name != only {
			continue
		}
		items, width := instance(t, in.name)
		// calibrate
		c0 := cpu()
		Pack(t.Context(), items, width, Budget{Tries: 1, Seed: seed})
		setup := cpu() - c0
		s := newStrip(items, width, Budget{Seed: seed})
		s.bottomLeft()
		s.best = s.snapshot()
		bl := s.best.length
		c0 = cpu()
		s.improve(t.Context(), 300000)
		rate := float64(s.tries) / (cpu() - c0).Seconds()
		ctx, cancel := context.WithCancel(t.Context())
		c0 = cpu()
		limit := time.Duration(secs * 1e9)
		go func() {
			for ctx.Err() == nil {
				time.Sleep(20 * time.Millisecond)
				if cpu()-c0 > limit {
					cancel()
				}
			}
		}()
		p, _ := Pack(ctx, items, width, Budget{Tries: int(rate * (secs - setup.Seconds()) * 0.98), Seed: seed})
		took := cpu() - c0
		cancel()
		a := 100 * area(items) / width
		gap := a/in.length - a/p.Length
		sum += gap
		line += fmt.Sprintf("%s %.2f (bl %.1f set %.0fms %.2fM/s %.1fs) ", in.name, gap, a/in.length-a/bl, setup.Seconds()*1000, rate/1e6, took.Seconds())
	}
	fmt.Printf("%s: mean %.2f  %s\n", set, sum/7, line)
}
