package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

const fittingAbout = `
Tries an order on a body before cloth is cut: drafts it, sews the trunk of the
garment and its sleeves, hangs it on a form of the order's measurements and writes
what it finds to FILE. A front that overlaps is closed at its centre, and pleats are
closed. Facings, linings, bands, collars, hoods, and cuffs that turn back or are of
another cloth are left out and named.
What hangs from a band or from elastic hangs level at the waist, and its width alone is
judged. The ending of FILE is the format: .svg, .png or .pdf for pictures, coloured by how
much the cloth is stretched; .json for data. Prints the girths of body and garment and
what a cutter would alter. A fitting is no substitute for a toile. "-" reads the order
from standard input. Exits with 0 if the garment came to rest, 1 if it did not or the
order has faults, and 2 if a flag is wrong or a file could not be read or written.`

func runFitting(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	var r files.FittingRequest
	fs := newFlags("fitting", "ORDER.json -o FILE", fittingAbout, stderr)
	out := fs.String("o", "", "the `FILE` to write (required)")
	mesh := fs.String("form", "", "`MESH.obj` of a body in mm, its landmarks in MESH.json beside it, instead of a\n"+
		"form of the order's measurements")
	fs.StringVar(&r.Cloth, "cloth", "", "the `cloth`: light-woven, medium-woven, heavy-woven, denim or jersey\n"+
		"(default by style)")
	level := fs.String("level", "full", "quick, for the findings alone, or full")
	fs.BoolVar(&r.Cures, "cures", false, "also try what would cure each finding: other ease, an alteration, or another\n"+
		"length of the front where that was estimated")
	script := fs.String("script", "", "`FILE.star` of a style that is not built in and that the order names by its slug")
	positional, code, ok := parseFlags(fs, args, "an order")
	if !ok {
		return code
	}
	if fault := fittingFlags(*out, *level); fault != "" {
		fmt.Fprintf(stderr, "tapeline fitting: %s\n", fault)
		return exitUsage
	}
	r.Quick = *level == "quick"
	var err error
	if r.Order, err = readInput(positional[0], stdin); err == nil && *mesh != "" {
		r.Mesh, r.Landmarks, err = readMesh(*mesh)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline fitting: %v\n", err)
		return exitUsage
	}
	if r.Script, ok = readScript(*script, stderr); !ok {
		return exitFaults
	}
	r.Progress = progressLine(stderr)
	tried, err := files.TryOn(ctx, r)
	if err != nil {
		printFaults(stderr, positional[0], files.FaultsOf(err))
		return exitFaults
	}
	made, err := tried.Render(ctx, *out)
	if err == nil {
		err = writeAll([]files.File{made})
	}
	if err == nil {
		err = tried.WriteText(stdout)
	}
	if err != nil {
		fmt.Fprintf(stderr, "tapeline fitting: %v\n", err)
		return exitUsage
	}
	if !tried.Settled {
		return exitFaults
	}
	return exitDone
}

// fittingFlags returns what is wrong with the flags, or "".
func fittingFlags(out, level string) string {
	ends := false
	for _, e := range []string{".svg", ".png", ".pdf", ".json"} {
		ends = ends || strings.HasSuffix(out, e)
	}
	switch {
	case !ends:
		return fmt.Sprintf("-o %q: want a name ending in .svg, .png, .pdf or .json", out)
	case level != "quick" && level != "full":
		return fmt.Sprintf("--level %q: want quick or full", level)
	}
	return ""
}

// readMesh reads a mesh and the file of landmarks beside it.
func readMesh(name string) (mesh, landmarks []byte, err error) {
	if mesh, err = os.ReadFile(name); err != nil {
		return nil, nil, err
	}
	landmarks, err = os.ReadFile(strings.TrimSuffix(name, ".obj") + ".json")
	return mesh, landmarks, err
}

// progressLine returns a function that reports progress on one line of a
// terminal, and nothing elsewhere.
func progressLine(w io.Writer) func(steps int, residual float64) {
	f, ok := w.(*os.File)
	if !ok {
		return nil
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	return func(steps int, residual float64) {
		if steps%500 == 0 {
			fmt.Fprintf(w, "\rsettling: %d steps, %.1f %% of the load unbalanced ", steps, 100*residual)
		}
	}
}
