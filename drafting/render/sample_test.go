package render

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/sheets"
)

// torso is the sample order, drafted after a change.
func torso(t testing.TB, change func(*drafting.Order)) finish.Pattern {
	t.Helper()
	o := ordertest.Order(t, "torso")
	if change != nil {
		change(&o)
	}
	p, err := drafting.Draft(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// on is the usual layout on a paper.
func on(t testing.TB, name string) sheets.Options {
	t.Helper()
	p, err := sheets.ParsePaper(name)
	if err != nil {
		t.Fatal(err)
	}
	return sheets.On(p)
}

// allPapers are the names of every paper, and a roll.
func allPapers() []string {
	names := []string{"roll-914", "full"}
	for _, p := range sheets.Papers() {
		names = append(names, p.Name)
	}
	return names
}

// write renders a pattern to a file and returns its path.
func write(t testing.TB, p finish.Pattern, o sheets.Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := PDF(t.Context(), &b, p, o); err != nil {
		t.Fatal(err)
	}
	return save(t, b.Bytes())
}

func save(t testing.TB, pdf []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "pattern.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// read runs an outside program and returns what it prints. Without it the test
// is skipped, or fails where TAPELINE_READERS=required says that it must be
// there.
func read(t testing.TB, program string, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("%s is not installed", program)
		}
		t.Skipf("%s is not installed", program)
	}
	cmd := exec.Command(program, args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s%s", program, strings.Join(args, " "), err, out, stderr.Bytes())
	}
	return out
}

// picture is a page as grey pixels, 0 black, rendered by poppler.
type picture struct {
	w, h int
	dpi  float64
	pix  []byte
}

// rasterize renders the part of a page (from 1) that the box in mm from the
// page's corner covers; a box of no size is the whole page.
func rasterize(t testing.TB, file string, page int, dpi float64, x, y, w, h float64) picture {
	t.Helper()
	px := func(mm float64) string { return strconv.Itoa(int(mm / 25.4 * dpi)) }
	args := []string{"-gray", "-r", fmt.Sprint(dpi), "-f", strconv.Itoa(page), "-l", strconv.Itoa(page)}
	if w > 0 {
		args = append(args, "-x", px(x), "-y", px(y), "-W", px(w), "-H", px(h))
	}
	return parsePGM(t, read(t, "pdftoppm", append(args, file)...), dpi)
}

// parsePGM reads a binary portable grey map of one byte a pixel.
func parsePGM(t testing.TB, data []byte, dpi float64) picture {
	t.Helper()
	p := picture{dpi: dpi}
	var depth int
	if n, err := fmt.Sscanf(string(data[:min(len(data), 64)]), "P5\n%d %d\n%d\n", &p.w, &p.h, &depth); n != 3 ||
		err != nil || depth != 255 {
		t.Fatalf("not a grey map of one byte a pixel: %v", err)
	}
	p.pix = data[len(data)-p.w*p.h:]
	return p
}

// mm is a length in mm as pixels.
func (p picture) mm(v float64) float64 { return v / 25.4 * p.dpi }

func (p picture) at(x, y int) byte { return p.pix[y*p.w+x] }

// boxOf is the upright box round a label.
func boxOf(l finish.Text) geom.Box {
	c := l.Corners()
	return geom.BoxOf(c[:]...)
}
