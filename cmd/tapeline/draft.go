package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tapeline/service"
	"tapeline/service/files"
)

const draftAbout = `
Drafts an order and writes the pattern to FILE. The ending of FILE is the format:
.pdf for paper, .svg to edit or display, .dxf for a plotter or cutter (ASTM D6673),
.png for a picture, .json for data. "-" reads the order from standard input. With
several papers each gets its own file, named by the paper. Prints the measures read
back from the pattern and the number of pages. Exits with 0 if the files were
written, 1 if the order has faults or cannot be drafted, and 2 if a flag is wrong or
a file could not be read or written.`

// draftFlags are the flags of draft.
type draftFlags struct {
	files.Request
	layers, papers, layPlans                     texts
	clothWidth, selvedge, shrinkage, nap, spread texts
	script                                       string
}

func (d *draftFlags) add(fs *flag.FlagSet) {
	o := &d.Options
	fs.StringVar(&d.Name, "o", "", "the `FILE` to write (required)")
	fs.Var(&d.papers, "paper", "`paper` of a PDF: a4 to a0, letter, legal, tabloid, ansi-c to ansi-e, full (one sheet),\n"+
		"roll-914 (a roll 914 mm wide), roll-36in, or roll with --width; may be repeated (default a4)")
	fs.Func("margin", fmt.Sprintf("PDF: blank margin of every sheet in `mm` (default %g)", files.DefaultMargin),
		func(s string) error {
			v, err := strconv.ParseFloat(s, 64)
			o.Margin = &v
			return err
		})
	fs.Float64Var(&o.Overlap, "overlap", 0, "PDF: `mm` that neighbouring sheets share (default 0)")
	fs.StringVar(&o.Orientation, "orientation", "",
		"PDF: portrait, landscape or auto, the one that needs fewer sheets (default auto)")
	fs.Var(&d.layers, "layers", "PDF: the `layers` to draw, separated by commas: cut_line, seam_line, internal_lines,\n"+
		"notches, marks, grain, text, grid (default all except grid)")
	fs.StringVar(&d.MakingSheet, "making-sheet", "",
		"`where` the making sheet goes: front (before the pages of a PDF), none, or a\n"+
			"FILE.pdf of its own (default front on paper up to A3 and tabloid, otherwise none)")
	fs.StringVar((*string)(&o.For), "for", "", "SVG: editing or screens (default editing)")
	fs.StringVar((*string)(&o.Text), "text", "", "SVG: lettering as outlines or letters (default outlines)")
	fs.StringVar((*string)(&o.Unit), "unit", "", "DXF: mm or inch (default mm)")
	fs.StringVar((*string)(&o.Folds), "folds", "", "DXF: pieces on the fold are half or unfolded (default half)")
	fs.Float64Var(&o.Flatten, "flatten", 0, fmt.Sprintf(
		"DXF: largest distance in `mm` between a curve and its lines (default %g); JSON: adds such "+
			"lines", files.DefaultFlatten))
	fs.Float64Var(&o.Width, "width", 0, fmt.Sprintf(
		"PNG: width in pixels (default %d); PDF on paper roll: width of the roll in mm", files.DefaultPixels))
	fs.StringVar(&d.script, "script", "", "`FILE.star` of a style that is not built in and that the order names by "+
		"its slug")
	fs.Var(&d.clothWidth, "cloth-width", "`width` of the cloth in the order's unit: plans and prints the length to buy.\n"+
		"This and the following flags apply to all cloths, or to the cloth named first: lining=150")
	fs.Var(&d.selvedge, "selvedge", "`width` along each edge of the cloth that is not cut from, in the order's unit "+
		"(default 10 mm)")
	fs.Var(&d.shrinkage, "shrinkage", "shrinkage of the cloth before it is cut in `percent`, in length and width: 3/1.5")
	fs.Var(&d.nap, "nap", "two-way, or one-way if all pieces must lie the same way up (default two-way)")
	fs.Var(&d.spread, "spread", "single, or fold for cloth folded lengthwise (default single)")
	fs.Var(&d.layPlans, "lay-plan", "`FILE` for the lay plan: .svg, .pdf or .json; may be repeated")
}

// request completes the request that the flags describe.
func (d *draftFlags) request() *files.Request {
	for _, l := range d.layers {
		for name := range strings.SplitSeq(l, ",") {
			d.Options.Layers = append(d.Options.Layers, files.Layer(name))
		}
	}
	d.Papers, d.LayPlans = d.papers, d.layPlans
	d.Cloth = map[string][]string{"cloth_width": d.clothWidth, "selvedge": d.selvedge, "shrinkage": d.shrinkage,
		"nap": d.nap, "spread": d.spread}
	return &d.Request
}

func runDraft(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	var d draftFlags
	fs := newFlags("draft", "ORDER.json --paper a4 -o FILE", draftAbout, stderr)
	d.add(fs)
	positional, code, ok := parseFlags(fs, args, "an order")
	if !ok {
		return code
	}
	request := d.request()
	if faults := request.Check(); len(faults) > 0 {
		printFaults(stderr, "tapeline draft", faults)
		return exitUsage
	}
	order, err := readInput(positional[0], stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	script, ok := readScript(d.script, stderr)
	if !ok {
		return exitFaults
	}
	drafted, err := files.Draft(ctx, order, script, func(line int, text string) {
		printAt(stderr, d.script, line, text)
	})
	if line, reason, ok := files.InScript(err); ok && d.script != "" {
		printAt(stderr, d.script, line, reason)
		return exitFaults
	}
	if err != nil {
		printFaults(stderr, positional[0], files.FaultsOf(err))
		return exitFaults
	}
	printFindings(ctx, d.script, script, stderr)
	made, err := drafted.Render(ctx, request)
	if err != nil {
		printFaults(stderr, "tapeline draft", files.FaultsOf(err))
		if files.OptionsAtFault(err) {
			return exitUsage
		}
		return exitFaults
	}
	if err := writeAll(made.All()); err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	drafted.WriteText(stdout, made)
	return exitDone
}

// printFaults writes one line for each fault, beginning with the name of the
// input.
func printFaults(w io.Writer, file string, faults service.Faults) {
	for _, f := range faults {
		text := f.Error()
		if f.Field == "" {
			text = strings.TrimPrefix(text, "input: ")
		}
		fmt.Fprintf(w, "%s: %s\n", inputName(file), text)
	}
}
