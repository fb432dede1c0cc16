package main

import (
	"os"
	"path/filepath"
	"testing"
)

const topScript = `style(slug="top", title="Top", block="torso", allowances={"default": 10},
    choices=[choice("unused", "Nothing.", length=(0, 50), default=20)])

def make(body, ease, choose, block):
    front = drop(block.front, "neckline", centre_front=30, shoulder=15)
    return garment([front, block.back], [
        seam("back/shoulder", "front/shoulder", ease=length(block.back, "shoulder") - length(front, "shoulder")),
        seam("back/side", "front/side")], ["Sew it."])
`

func TestStyle(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	top := write("top.star", topScript)
	tapeline(t, "", "style", "check", top).want(t, exitFaults, top+":2: the choice unused is declared but never used",
		"opening_unsaid")
	tapeline(t, "", "style", "check", "torso-toile").want(t, exitDone)
	tapeline(t, "x = (", "style", "check", "-").want(t, exitFaults, "-:1: ")
	tapeline(t, "", "style", "sentences", top).want(t, exitDone,
		"Lower the neckline of the block's front by 3 cm at the centre front and 1.5 cm at the shoulder.")
	tapeline(t, "", "style", "sentences", "-unit", "inch", top).want(t, exitDone, "by 1 3/16 inch at the centre front")
	tapeline(t, "", "style", "sentences", "shift-dress", order("shift-dress.json")).want(t, exitDone,
		"Swing the side of the front out by 4 cm at the hem.", "(Not for this order.)")
	tapeline(t, "", "style", "sentences", top, order("shift-dress.json")).want(t, exitFaults, "shift-dress.json: ")
	tapeline(t, "", "style", "format", top).want(t, exitDone, `slug = "top"`)
	tapeline(t, "", "style", "format", "-w", top).want(t, exitDone)
	if text, err := os.ReadFile(top); err != nil || string(text) != tapeline(t, "", "style", "format", top).out {
		t.Errorf("the file was not rewritten: %s, %v", text, err)
	}
	tapeline(t, "", "style", "format", "-w", "shift-dress").want(t, exitUsage, "want a file")
	for _, args := range [][]string{{"check"}, {"sew", top}, {"check", top, top}, {"check", "no-such-file.star"},
		{"sentences", "-unit", "ell", top}, {"sentences", top, "no-such-order.json"}} {
		tapeline(t, "", append([]string{"style"}, args...)...).want(t, exitUsage)
	}
}
