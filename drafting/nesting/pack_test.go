package nesting

import (
	"context"
	"errors"
	"math"
	"os"
	"syscall"
	"testing"
	"time"

	"tapeline/drafting/ctxtest"
	"tapeline/drafting/geom"
	"tapeline/drafting/shapelytest"
)

// A packing is never longer than the bottom-left one nor shorter than the items'
// area allows, GEOS finds no overlap, nothing leaves the strip, and the same
// budget gives the same packing.
func TestPack(t *testing.T) {
	t.Parallel()
	for _, in := range instances() {
		t.Run(in.name, func(t *testing.T) {
			t.Parallel()
			on := Strip{Width: in.width}
			plain := mustPack(t, in.items, on, Budget{})
			p := mustPack(t, in.items, on, Budget{Tries: 20_000, Seed: 1})
			if p.Length > plain.Length || p.BottomLeft != plain.Length || plain.BottomLeft != plain.Length {
				t.Errorf("packed %.3f, bottom-left %.3f and %.3f", p.Length, p.BottomLeft, plain.Length)
			}
			if least := area(in.items) / in.width; p.Length < least {
				t.Errorf("%.3f is shorter than the area allows, %.3f", p.Length, least)
			}
			if again := mustPack(t, in.items, on, Budget{Tries: 20_000, Seed: 1}); p.Length != again.Length {
				t.Errorf("%.6f at first and %.6f the second time", p.Length, again.Length)
			}
			checkByGEOS(t, in, map[string]Packing{"bottom-left": plain, "packed": p})
		})
	}
}

func mustPack(t testing.TB, items []Item, on Strip, b Budget) Packing {
	t.Helper()
	p, err := Pack(t.Context(), items, on, b)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// checkByGEOS lets shapely check packings: nothing overlaps, nothing leaves the
// strip.
func checkByGEOS(t *testing.T, in instance, packings map[string]Packing) {
	t.Helper()
	for name, p := range packings {
		var outlines [][][2]float64
		for i, it := range in.items {
			var o [][2]float64
			for _, q := range p.Placements[i].outline(it.Outline) {
				o = append(o, [2]float64{q.X, q.Y})
			}
			outlines = append(outlines, o)
			if low := p.Placements[i].outline(it.Outline).bounds().Min.Y; it.OnEdge && math.Abs(low) > 1e-6 {
				t.Errorf("%s: the item on the edge lies %g from it", name, low)
			}
		}
		found := shapelytest.Ask[[5]float64](t, outlines, "-c", `
import json, sys
from shapely.geometry import Polygon
shapes = [Polygon(p) for p in json.load(sys.stdin)]
worst = 0.0
for i, a in enumerate(shapes):
    for b in shapes[:i]:
        if a.intersects(b):
            worst = max(worst, a.intersection(b).area)
xs = [c for s in shapes for c in s.exterior.coords]
print([worst, min(x for x, _ in xs), max(x for x, _ in xs), min(y for _, y in xs), max(y for _, y in xs)])`)
		overlap, left, right, low, high := found[0], found[1], found[2], found[3], found[4]
		slack := 1e-6 * in.width
		if overlap > slack*slack*1e6 || left < -slack || right > p.Length+slack || low < -slack || high > in.width+slack {
			t.Errorf("%s: overlap %g, x from %g to %g of %g, y from %g to %g of %g",
				name, overlap, left, right, p.Length, low, high, in.width)
		}
	}
}

func TestTooWide(t *testing.T) {
	t.Parallel()
	square := Item{
		Outline: Polygon{geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10, 10), geom.Pt(0, 10)},
		Turns:   []float64{0},
	}
	if _, err := Pack(t.Context(), []Item{square}, Strip{Width: 9}, Budget{Tries: 10}); !errors.Is(err, ErrTooWide) {
		t.Errorf("a square of 10 on a strip of 9: %v", err)
	}
	p := mustPack(t, []Item{square, square, square}, Strip{Width: 20}, Budget{Tries: 200})
	if math.Abs(p.Length-20) > 1e-6 {
		t.Errorf("three squares of 10 on a strip of 20 take %g", p.Length)
	}
}

// A cancelled context ends the search within 100 ms, with the context's error.
func TestPackEndsWithItsContext(t *testing.T) {
	t.Parallel()
	in := instances()[1]
	ctxtest.EndsInTime(t, func(ctx context.Context) error {
		_, err := Pack(ctx, in.items, Strip{Width: in.width}, Budget{Tries: math.MaxInt32})
		return err
	}, 0, 10*time.Millisecond, 50*time.Millisecond)
}

// The open instances beside the best published lengths:
//
//	TAPELINE_INSTANCES=DIR go test ./drafting/nesting -run TestOpenInstances -v
//
// With TAPELINE_WHOLE set, the search takes ten seconds of one core for each.
// The budget is derived from a short run before.
func TestOpenInstances(t *testing.T) {
	const tries, limit = 200_000, 10 * time.Second
	t.Logf("%-10s %9s %9s %9s %6s %8s %6s", "instance", "published", "ours", "plain", "points", "tries", "time")
	sum := 0.0
	all := openInstances(t)
	for _, in := range all {
		on, tries := Strip{Width: in.width}, tries
		if os.Getenv("TAPELINE_WHOLE") != "" {
			tries = triesIn(t, limit, in.items, on)
		}
		begun := cpuTime()
		p := mustPack(t, in.items, on, Budget{Tries: tries, Seed: 1})
		took := cpuTime() - begun
		used := func(length float64) float64 { return 100 * area(in.items) / in.width / length }
		points := used(in.best) - used(p.Length)
		sum += points
		t.Logf("%-10s %8.2f%% %8.2f%% %8.2f%% %6.2f %7.1fM %5.1fs", in.name, used(in.best), used(p.Length),
			used(p.BottomLeft), points, float64(tries)/1e6, took.Seconds())
		if p.Length < in.best*0.999 {
			t.Errorf("%s: %.3f is shorter than the best known %.3f: something overlaps", in.name, p.Length, in.best)
		}
		checkByGEOS(t, in, map[string]Packing{"packed": p})
	}
	mean := sum / float64(len(all))
	t.Logf("%.2f points below on average", mean)
	const maxPoints = 9.5
	if mean > maxPoints {
		t.Errorf("%.2f points below on average, want at most %g", mean, maxPoints)
	}
}

// triesIn returns about how many tries take a time.
func triesIn(t testing.TB, limit time.Duration, items []Item, on Strip) int {
	timed := func(tries int) time.Duration {
		begun := cpuTime()
		mustPack(t, items, on, Budget{Tries: tries, Seed: 1})
		return cpuTime() - begun
	}
	const sample = 300_000
	setUp := timed(1)
	perTry := float64(timed(sample)-setUp) / sample
	return int(float64(limit-setUp) / perTry)
}

// cpuTime returns the processor time that the program has taken.
func cpuTime() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		panic(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// outline returns the item's outline where it lies.
func (p Placement) outline(item Polygon) Polygon {
	q := item.way(p.Mirrored, p.Turn)
	for i := range q {
		q[i] = q[i].Add(p.At)
	}
	return q
}
