package render

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/geom"
	"tapeline/drafting/proof"
	"tapeline/drafting/sizes"
)

// sizeRun drafts a garment to some sizes of the standard table.
func sizeRun(t *testing.T, garment string, names ...string) sizes.Run {
	t.Helper()
	spec, _ := drafting.Find(garment)
	table, _ := sizes.Standard(sizes.EN13402, spec.Requires...)
	table, faults := sizes.Only(table, names)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	run, err := sizes.Draft(t.Context(), proof.Base(garment), table)
	if err != nil {
		t.Fatal(err)
	}
	return run
}

func writeSizes(t *testing.T, r sizes.Run, format string, o Options) (data []byte, file string) {
	t.Helper()
	f, err := ParseSizesFormat(format)
	if err != nil {
		t.Fatal(err)
	}
	if o, err = f.Fill(o); err != nil {
		t.Fatal(err)
	}
	var b, again bytes.Buffer
	for _, w := range []*bytes.Buffer{&b, &again} {
		if err := f.Write(t.Context(), w, r, body.Centimetre, o); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("%s: the same run gives other bytes", format)
	}
	file = filepath.Join(t.TempDir(), "sizes."+format)
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), file
}

// The PDF has the tables in front, and on its one sheet every piece with the name of every
// size on its lines.
func TestSizesPDF(t *testing.T) {
	t.Parallel()
	run := sizeRun(t, "shift-dress", "84", "92", "100")
	_, file := writeSizes(t, run, "pdf", Options{Paper: "full", MakingSheet: MakingInFront})
	tables := string(read(t, "pdftotext", "-layout", "-l", "2", file, "-"))
	for _, want := range []string{"Finished measurements", "What each size adds", "Bodies of the sizes",
		"Shift dress, regular fit", "Sizes 84 to 100"} {
		if !strings.Contains(tables, want) {
			t.Errorf("the tables do not say %q", want)
		}
	}
	if row := regexp.MustCompile(`bust \*\s+91\.0\s+99\.0\s+107\.0`); !row.MatchString(tables) {
		t.Errorf("no row of finished busts with an ease of 7 cm:\n%s", tables)
	}
	sheet := string(read(t, "pdftotext", "-raw", "-f", "3", file, "-"))
	for _, name := range run.Names() {
		// At least once on each of the four pieces, and once in the legend.
		if n := len(regexp.MustCompile(`(?m)\b`+name+`\b`).FindAllString(sheet, -1)); n < 5 {
			t.Errorf("size %s is named %d times on the sheet", name, n)
		}
	}
	for _, want := range []string{"Front", "Back facing", "the allowances are included", "Cut 1 on fold"} {
		if !strings.Contains(sheet, want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
	if strings.Contains(sheet, "Order") {
		t.Error("a size run is lettered as an order")
	}
	// Without the tables, on tiles.
	_, tiled := writeSizes(t, run, "pdf", Options{Paper: "a3", MakingSheet: MakingNone})
	if text := string(read(t, "pdftotext", tiled, "-")); strings.Contains(text, "Finished measurements") ||
		!strings.Contains(text, "Print at 100 %") {
		t.Error("the tiles have tables, or no legend")
	}
}

// A reader of DXF finds a block for each piece and size, and the outlines of a piece's sizes
// where they were drafted to each other.
func TestSizesDXF(t *testing.T) {
	t.Parallel()
	run := sizeRun(t, "straight-skirt", "80", "88", "96")
	_, file := writeSizes(t, run, "dxf", Options{})
	var answers []dxfRead
	script(t, "read_dxf.py", "ezdxf", []string{file}, &answers)
	r := answers[0]
	if len(r.Errors)+len(r.Fixes)+len(r.Nesting) > 0 {
		t.Fatalf("errors %v, fixes %v, nesting %v", r.Errors, r.Fixes, r.Nesting)
	}
	inserts := map[string]geom.Point{}
	for _, e := range r.Model {
		if e.Kind == "INSERT" {
			inserts[e.Text] = geom.Pt(e.Points[0][0], e.Points[0][1])
		}
	}
	blocks := 0
	for _, n := range run.Nest() {
		var origin geom.Point
		for k, s := range n.Sizes {
			blocks++
			size := run.Sizes[s.Size].Name
			name := strings.ToUpper(n.Name) + "-" + size
			at, ok := inserts[name]
			if !ok {
				t.Fatalf("no block %s in %v", name, inserts)
			}
			texts := fmt.Sprint(r.Blocks[name])
			if !strings.Contains(texts, "SIZE: "+size+" ") ||
				!strings.Contains(texts, "PIECE NAME: "+strings.ToUpper(n.Name)+" ") {
				t.Errorf("%s does not name its piece and size", name)
			}
			// The lower left corner of the piece as drafted, y up in the file.
			b := s.Piece.Bounds()
			here := at.Sub(geom.Pt(b.Min.X, -b.Max.Y))
			if k == 0 {
				origin = here
			}
			if here.Dist(origin) > 0.01 {
				t.Errorf("%s lies %.2f mm off the first size's origin", name, here.Dist(origin))
			}
		}
	}
	if blocks != len(inserts) {
		t.Errorf("%d blocks inserted, want %d", len(inserts), blocks)
	}
}

// The data have the finished measures and the steps between the sizes.
func TestSizesJSON(t *testing.T) {
	t.Parallel()
	data, _ := writeSizes(t, sizeRun(t, "torso", "84", "88"), "json", Options{})
	var got sizesDocument
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	for _, m := range got.Finished {
		if m.Name == "bust_girth" {
			if math.Abs(m.Values["84"]-910) > 0.1 || len(m.Adds) != 1 || math.Abs(m.Adds["88"]-40) > 0.1 {
				t.Errorf("bust: %v and %v", m.Values, m.Adds)
			}
			return
		}
	}
	t.Errorf("no bust in %s", data)
}

// Every piece of every garment shows all its sizes by name, apart from those of one line.
func TestSizesAreNamed(t *testing.T) {
	t.Parallel()
	for _, garment := range []string{"button-shirt", "wrap-robe", "straight-trousers", "knit-top", "dolman-jacket"} {
		run := sizeRun(t, garment)
		for _, n := range run.Nest() {
			p := envelope(n)
			p.Grain = n.Smallest().Grain
			var cuts []geom.Path
			for _, s := range n.Sizes {
				cuts = append(cuts, s.Piece.CutLine)
			}
			_, labels := sizeLabels(n, run.Names(), cuts, &p, sizeEm)
			named := map[string]bool{}
			for _, l := range labels {
				named[l.Lines[0]] = true
			}
			if len(named) != len(n.Sizes) && !named["all sizes"] {
				t.Errorf("%s: %s names %d of %d sizes", garment, n.Name, len(named), len(n.Sizes))
			}
		}
	}
}

func TestSizesOptions(t *testing.T) {
	t.Parallel()
	if _, err := ParseSizesFormat("png"); err == nil {
		t.Error("png is a format of size runs")
	}
	svg, err := ParseSizesFormat("svg")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := svg.Fill(Options{Paper: "a4"}); !errors.As(err, new(fault.List)) {
		t.Errorf("paper of a picture: error = %v", err)
	}
}
