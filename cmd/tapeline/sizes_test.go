package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSizes(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	table := filepath.Join(dir, "table.csv")
	rows := "size,bust_girth,waist_girth,hip_girth,height,neck_base_girth,shoulder_length," +
		"back_width,nape_to_waist,upper_arm_girth,wrist_girth,arm_length\n" +
		"small,84,68,92,164,35.5,12.2,33.5,40.5,27,15.5,57\nlarge,100,84,108,168,38,12.8,37,42,31,16.5,59\n"
	if err := os.WriteFile(table, []byte(rows), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, ending := range []string{"pdf", "dxf", "svg", "json"} {
		out := filepath.Join(dir, "run."+ending)
		r := tapeline(t, "", "sizes", "shift-dress", "--table", table, "--set", "sleeve=short", "-o", out)
		r.want(t, exitDone, "Shift dress, regular fit, sizes small to large", "small", "large", "+16.0", "bust_girth")
		if info, err := os.Stat(out); err != nil || info.Size() < 500 {
			t.Errorf("%s: %v, %v", out, info, err)
		}
	}
	out := filepath.Join(dir, "bad.pdf")
	for _, bad := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"torso", "--table", "en13402", "-o", filepath.Join(dir, "x.png")}, exitUsage, ".pdf, .dxf, .svg or .json"},
		{[]string{"torso", "--table", "en1", "-o", out}, exitFaults, "en13402 or en13402-men"},
		{[]string{"torso", "--table", "en13402", "--size", "84,85", "-o", out}, exitFaults, `"85"`},
		{[]string{"torso", "--table", "en13402", "--fit", "none", "-o", out}, exitUsage, "none"},
		{[]string{"torso", "--table", "en13402", "--set", "bust_dart=side,shoulder", "-o", out}, exitUsage, "one value"},
		{[]string{"torso", "--table", filepath.Join(dir, "none.csv"), "-o", out}, exitUsage, "none.csv"},
		{[]string{"straight-trousers", "--table", table, "-o", out}, exitFaults, "/table/small/measurements/inside_leg"},
	} {
		r := tapeline(t, "", append([]string{"sizes"}, bad.args...)...)
		r.want(t, bad.code)
		if !strings.Contains(r.errOut+r.out, bad.want) {
			t.Errorf("%v: %s%s, want %q", bad.args, r.out, r.errOut, bad.want)
		}
		if _, err := os.Stat(out); err == nil {
			t.Errorf("%v left a file", bad.args)
		}
	}
}
