package render

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting/document"
	"tapeline/drafting/drawing"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/geom"
)

// script runs one of the Python programs of testdata on the files, with the
// module that it needs, and decodes what it answers.
func script(t testing.TB, name, module string, files []string, answer any) {
	t.Helper()
	const python = "/usr/bin/python3" // Debian's, whose modules are its packages
	if exec.Command(python, "-c", "import "+module).Run() != nil {
		read(t, "python3 with "+module) // skips, or fails where readers are required
	}
	input, err := json.Marshal(files)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "testdata/"+name)
	cmd.Stdin = bytes.NewReader(input)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, stderr.Bytes())
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// rendered writes a pattern to a file and returns the bytes and its name.
func rendered(t testing.TB, p finish.Pattern, format string, o Options) ([]byte, string) {
	t.Helper()
	f, err := ParseFormat(format)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(t.Context(), &b, p, o); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "pattern"+f.Ending())
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), file
}

// apart is how far two lines are apart at most, looked at from points all
// along either.
func apart(a, b geom.Path) float64 {
	var most float64
	for _, pair := range [][2]geom.Path{{a, b}, {b, a}} {
		for _, s := range pair[0] {
			n := 8
			if s.Straight {
				n = 2
			}
			for k := range n {
				_, d, _ := pair[1].Nearest(s.At(float64(k) / float64(n)))
				most = max(most, d)
			}
		}
	}
	return most
}

// lineOf is the line through points that a reader gave, moved by a step.
func lineOf(points [][2]float64, step geom.Point) geom.Path {
	all := make([]geom.Point, len(points))
	for i, p := range points {
		all[i] = geom.Pt(p[0], p[1]).Add(step)
	}
	return geom.Polyline(all...)
}

func TestFormats(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	starts := map[string]string{"pdf": "%PDF-", "json": `{"version":1,"unit":"mm"`, "svg": "<?xml", "dxf": "0\r\nSECTION",
		"png": "\x89PNG"}
	for _, f := range Formats() {
		if got, err := ParseFormat(f.Name); err != nil || got.Name != f.Name || got.Ending() != "."+f.Name ||
			!strings.Contains(got.MediaType, "/") {
			t.Errorf("%s: %+v, %v", f.Name, got, err)
		}
		data, _ := rendered(t, p, f.Name, Options{})
		if !strings.HasPrefix(string(data), starts[f.Name]) {
			t.Errorf("%s starts with %q", f.Name, data[:20])
		}
		if again, _ := rendered(t, p, f.Name, Options{}); !bytes.Equal(data, again) {
			t.Errorf("%s: other bytes", f.Name)
		}
	}
	if len(Formats()) != len(starts) {
		t.Errorf("%d formats", len(Formats()))
	}
	_, err := ParseFormat("doc")
	if f, ok := errors.AsType[fault.Fault](err); !ok || f.Field != "/format" ||
		f.Accepted != "pdf, json, svg, dxf, png, making-sheet" {
		t.Errorf("format doc: %v", err)
	}
}

// What is wrong with the options is said, all of it, with what is accepted,
// and nothing is written.
func TestFormatOptions(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, c := range []struct {
		format string
		o      Options
		want   string
	}{
		{"svg", Options{For: "tv", Text: "runes"}, "/for: \"tv\": editing, screens\n/text: \"runes\": outlines, letters"},
		{"dxf", Options{Unit: "cubit", Folds: "twice", Flatten: 5},
			"/unit: \"cubit\": mm, inch\n/folds: \"twice\": half, unfolded\n/flatten: 5 mm: 0.01 to 1 mm"},
		{"dxf", Options{Flatten: math.NaN()}, "/flatten: NaN mm: 0.01 to 1 mm"},
		{"dxf", Options{Flatten: -0.1}, "/flatten: -0.1 mm: 0.01 to 1 mm"},
		{"png", Options{Width: 10}, "/width: 10 pixels: 64 to 2400 pixels, a whole number"},
		{"png", Options{Width: -1}, "/width: -1 pixels: 64 to 2400 pixels, a whole number"},
		{"pdf", Options{Paper: "full", Layers: []Layer{drawing.LayerCut, "lace"}},
			"/layers/1: \"lace\": cut_line, seam_line, internal_lines, notches, marks, grain, text, grid"},
	} {
		f, err := ParseFormat(c.format)
		if err != nil {
			t.Fatal(err)
		}
		err = f.Write(t.Context(), failing{t}, p, c.o)
		if _, ok := errors.AsType[fault.List](err); !ok || err.Error() != c.want {
			t.Errorf("%s: %v", c.format, err)
		}
	}
}

// A pattern that is broken gives an error and no file.
func TestFormatsOfBrokenPatterns(t *testing.T) {
	t.Parallel()
	nowhere := torso(t, nil)
	nowhere.Pieces[0].CutLine = geom.Polyline(geom.Pt(0, 0), geom.Pt(math.NaN(), 1), geom.Pt(1, 1), geom.Pt(0, 0))
	open := torso(t, nil)
	open.Pieces[0].CutLine = nil
	for _, name := range []string{"svg", "dxf", "png"} {
		f, _ := ParseFormat(name)
		for what, p := range map[string]finish.Pattern{"nothing": {}, "NaN": nowhere, "no cut line": open} {
			if err := f.Write(t.Context(), failing{t}, p, Options{}); err == nil {
				t.Errorf("%s of %s: no error", name, what)
			}
		}
		if err := f.Write(t.Context(), &full{room: 100}, torso(t, nil), Options{}); !errors.Is(err, io.ErrShortWrite) {
			t.Errorf("%s: a full disk gives %v", name, err)
		}
	}
}

// A stored pattern gives the same bytes as the one drafted.
func TestFormatsOfStoredPatterns(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	data, err := document.New(p).Encode()
	if err != nil {
		t.Fatal(err)
	}
	d, err := document.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	stored := d.Pattern()
	stored.Label = p.Label
	for _, name := range []string{"svg", "dxf", "png", "json"} {
		a, _ := rendered(t, p, name, Options{})
		b, _ := rendered(t, stored, name, Options{})
		if !bytes.Equal(a, b) {
			t.Errorf("%s: other bytes from the stored pattern", name)
		}
	}
}

func BenchmarkFormats(b *testing.B) {
	p := torso(b, nil)
	for _, c := range []struct {
		name   string
		format string
		o      Options
	}{
		{"svg", "svg", Options{}},
		{"svg letters", "svg", Options{Text: TextLetters}},
		{"svg screens", "svg", Options{For: ForScreens}},
		{"dxf", "dxf", Options{}},
		{"dxf unfolded", "dxf", Options{Folds: FoldsUnfolded}},
		{"dxf fine", "dxf", Options{Flatten: minChordError}},
		{"png 400", "png", Options{Width: 400}},
		{"png 800", "png", Options{}},
	} {
		f, err := ParseFormat(c.format)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := f.Write(b.Context(), io.Discard, p, c.o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
