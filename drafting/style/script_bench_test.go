package style

import (
	"syscall"
	"testing"
	"time"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
)

// BenchmarkScript measures the cost of each garment over its block: the script, and
// what holds for every draft looked at. Its cpu_ms/op is the processor's time,
// which says something on a busy machine too.
func BenchmarkScript(b *testing.B) {
	all, err := Builtins()
	if err != nil {
		b.Fatal(err)
	}
	standard := body.Measures{
		"height": 1680, "bust_girth": 920, "waist_girth": 760, "hip_girth": 1000, "neck_base_girth": 375,
		"shoulder_length": 126,
		"back_width":      355, "nape_to_waist": 415, "waist_to_hip": 205, "upper_arm_girth": 285, "wrist_girth": 160,
		"arm_length": 590,
		"body_rise":  285, "inside_leg": 770, "belly_girth": 1030,
	}
	for _, s := range all {
		base, _ := block.Find(s.Head.Block)
		person, faults := body.New(standard, s.Spec().Requires)
		if faults != nil {
			b.Fatal(faults)
		}
		req := block.Request{Body: person, Fit: s.Head.Fits[0].Name}
		in := s.inputs(req, base)
		r := newRun()
		r.drafting = true
		blockReq, err := s.blockRequest(r.thread, base, req, in)
		if err != nil {
			b.Fatal(err)
		}
		drafted, err := block.Draft(b.Context(), base.Name, blockReq)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(s.Head.Slug, func(b *testing.B) {
			b.ReportAllocs()
			start := ProcessorTime()
			for b.Loop() {
				r := newRun()
				r.drafting = true
				if _, err := s.blockRequest(r.thread, base, req, in); err != nil {
					b.Fatal(err)
				}
				if _, err := s.draftOn(r, drafted, in); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric((ProcessorTime()-start).Seconds()*1000/float64(b.N), "cpu_ms/op")
		})
	}
}

// ProcessorTime returns the time that this process has used so far.
func ProcessorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
