package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/drafting/style"
	"tapeline/service/files"
)

const draftAbout = `
Drafts an order and writes the finished pattern, by the ending of FILE as .pdf
on paper, .svg to edit or show, .dxf for a plotter or cutter (ASTM D6673), .png
to look at, or .json. "-" reads the order from standard input. With several
papers each gets its own file, with the paper's name before the ending. The
library that writes PDF files can't write layers to show and hide: --layers gives
one or some, on the same sheets. Prints what was measured back from the
pattern and how many pages it takes. Exits with 0 where the pattern was written,
with 1 where the order is at fault or cannot be drafted, with 2 where a file
could not be read or written.`

func runDraft(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("draft", "ORDER.json --paper a4 -o FILE", draftAbout, stderr)
	var papers, layers texts
	var like render.Options
	file := fs.String("o", "", "the `FILE` to write (required)")
	fs.Var(&papers, "paper", "`paper` of a PDF file: a4 to a0, letter, legal, tabloid, ansi-c to ansi-e, full (one sheet),\nroll-914 (a roll of that width in mm), roll-36in, roll with --width; may be repeated (default a4)")
	fs.Func("margin", fmt.Sprintf("`mm` left blank on every side of a page (default %g)", sheets.DefaultMargin), func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		like.Margin = &v
		return err
	})
	fs.Float64Var(&like.Overlap, "overlap", 0, "`mm` of the pattern that neighbouring pages both show; 0 to butt them")
	fs.StringVar(&like.Orientation, "orientation", "", "how a page lies: portrait, landscape or auto, whichever takes fewer pages (default auto)")
	fs.Var(&layers, "layers", "`layers` of a PDF to draw alone, parted by commas: cut_line, seam_line, internal_lines,\nnotches, marks, grain, text, grid (default all but the grid)")
	fs.StringVar((*string)(&like.For), "for", "", "what an SVG file is for: editing or screens (default editing)")
	fs.StringVar((*string)(&like.Text), "text", "", "lettering of an SVG file: outlines or letters (default outlines)")
	fs.StringVar((*string)(&like.Unit), "unit", "", "unit of a DXF file: mm or inch (default mm)")
	fs.StringVar((*string)(&like.Folds), "folds", "", "pieces on the fold in a DXF file: half or unfolded (default half)")
	fs.Float64Var(&like.ChordError, "flatten", 0, fmt.Sprintf("`mm` that the lines of a DXF file may lie from the curves (default %g)", render.DefaultChordError))
	fs.Float64Var(&like.Width, "width", 0, fmt.Sprintf("width of a PNG file in pixels (default %d), or of paper roll in mm", render.DefaultPixels))
	script := fs.String("script", "", "`FILE.star` of a style that is not built in, which the order names by its slug")
	var cloth clothFlags
	cloth.add(fs)
	positional, code, ok := parseFlags(fs, args, "an order")
	if !ok {
		return code
	}
	for _, l := range layers {
		for name := range strings.SplitSeq(l, ",") {
			like.Layers = append(like.Layers, render.Layer(name))
		}
	}
	format, err := render.ParseFormat(strings.TrimPrefix(filepath.Ext(*file), "."))
	var faults fault.List
	var each []render.Options
	if err != nil {
		faults = append(faults, fault.Fault{Code: fault.Format, Field: "/o", Value: fault.Shorten(*file), Accepted: "a file that ends in " + endings()})
	} else {
		each, faults = onEach(papers, format, like)
	}
	faults = append(faults, cloth.faults()...)
	if len(faults) > 0 {
		printFaults(stderr, "tapeline draft", faults)
		return exitUsage
	}
	data, err := readInput(positional[0], stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	var own []*style.Style
	if *script != "" {
		s, err := readScript(*script)
		if err != nil {
			fmt.Fprintf(stderr, "%s: %v\n", *script, err)
			return exitFaults
		}
		own = append(own, s)
	}
	p, estimates, unit, err := draftOrder(ctx, data, own)
	if err != nil {
		printFaults(stderr, positional[0], faultsOf(err))
		return exitFaults
	}
	plan, pictures, err := cloth.plan(ctx, p, unit)
	if err != nil {
		printFaults(stderr, "tapeline draft", faultsOf(err))
		return exitUsage
	}
	files, err := renderAll(ctx, p, format, *file, each)
	if err != nil {
		printFaults(stderr, "tapeline draft", faultsOf(err))
		if _, options := errors.AsType[fault.List](err); options {
			return exitUsage
		}
		return exitFaults
	}
	var outputs []output
	for _, f := range files {
		outputs = append(outputs, f.output)
	}
	outputs = append(outputs, pictures...)
	if err := writeAll(outputs); err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	printDraft(stdout, p, estimates, files)
	printLayPlan(stdout, plan, pictures, unit)
	return exitDone
}

// onEach is the options filled in for each of the papers named.
func onEach(papers []string, format render.Format, like render.Options) ([]render.Options, fault.List) {
	if len(papers) == 0 {
		papers = []string{""}
	}
	var all []render.Options
	var faults fault.List
	for _, name := range papers {
		like.Paper = name
		o, err := format.Fill(like)
		for _, f := range faultsOf(err) {
			if !slices.ContainsFunc(faults, func(g fault.Fault) bool { return g.Error() == f.Error() }) {
				faults = append(faults, f)
			}
		}
		if !slices.ContainsFunc(all, func(other render.Options) bool { return other.Paper == o.Paper }) {
			all = append(all, o)
		}
	}
	return all, faults
}

func draftOrder(ctx context.Context, data []byte, own []*style.Style) (finish.Pattern, []drafting.Estimate, body.Unit, error) {
	o, err := files.ParseOrder(data, own...)
	if err != nil {
		return finish.Pattern{}, nil, "", err
	}
	p, err := drafting.Draft(ctx, o)
	if err != nil {
		return finish.Pattern{}, nil, "", err
	}
	estimates, err := drafting.Estimates(ctx, o)
	return p, estimates, o.Unit, err
}

// A sheet is one file of the pattern.
type sheet struct {
	output
	paper        string // "" for a format without paper
	pages, inRow int    // with the pieces laid for few pages, and side by side as drafted
}

// endings are those of the files that can be written.
func endings() string {
	var all []string
	for _, f := range render.Formats() {
		all = append(all, f.Ending())
	}
	last := len(all) - 1
	return strings.Join(all[:last], ", ") + " or " + all[last]
}

// renderAll makes the files in memory: nothing is written until all are there.
func renderAll(ctx context.Context, p finish.Pattern, format render.Format, file string, each []render.Options) ([]sheet, error) {
	var sheets []sheet
	var errs []error
	for _, o := range each {
		if err := ctx.Err(); err != nil {
			return nil, errors.New("stopped")
		}
		s, err := renderOn(ctx, p, format, o)
		if err != nil && format.OnPaper() {
			err = fmt.Errorf("on %s: %w", o.Paper, err)
		}
		if err != nil {
			errs = append(errs, err)
			continue
		}
		s.name = file
		if len(each) > 1 {
			s.name = strings.TrimSuffix(file, format.Ending()) + "-" + o.Paper + format.Ending()
		}
		sheets = append(sheets, s)
	}
	return sheets, errors.Join(errs...)
}

func renderOn(ctx context.Context, p finish.Pattern, format render.Format, o render.Options) (sheet, error) {
	var data bytes.Buffer
	if err := format.Write(&data, p, o); err != nil {
		return sheet{}, err
	}
	s := sheet{output: output{data: data.Bytes()}}
	if !format.OnPaper() {
		return s, nil
	}
	on, err := o.Sheet()
	if err != nil {
		return sheet{}, err
	}
	s.paper = o.Paper
	if s.pages, err = sheets.PageCount(ctx, p, on); err != nil {
		return sheet{}, err
	}
	on.Placing = sheets.InRow
	s.inRow, err = sheets.PageCount(ctx, p, on)
	return s, err
}

func printDraft(w io.Writer, p finish.Pattern, estimates []drafting.Estimate, sheets []sheet) {
	fmt.Fprintf(w, "%s: %s\n\n", p.Info.Reference, p.Info.Style)
	printChecks(w, p.Checks)
	printEstimates(w, estimates)
	fmt.Fprintln(w)
	for i, piece := range p.Pieces {
		fmt.Fprintf(w, "piece %d of %d: %s, %s\n", i+1, len(p.Pieces), piece.Title, cutText(piece.Piece))
	}
	for _, warning := range p.Warnings {
		fmt.Fprintf(w, "note: %s\n", warning)
	}
	if p.Instructions != nil {
		printMaking(w, *p.Instructions)
		fmt.Fprintln(w)
	}
	for _, s := range sheets {
		if s.paper == "" {
			fmt.Fprintf(w, "%s written\n", s.name)
			continue
		}
		fmt.Fprintf(w, "%s written: %s on %s", s.name, plural(s.pages, "page"), s.paper)
		if s.inRow != s.pages {
			fmt.Fprintf(w, " (%d with the pieces side by side)", s.inRow)
		}
		fmt.Fprintln(w)
	}
}

// printMaking tells how a garment is sewn; a block says nothing of it.
func printMaking(w io.Writer, m pattern.Instructions) {
	list := func(title string, lines []string) {
		if len(lines) > 0 {
			fmt.Fprintf(w, "\n%s\n", title)
		}
		for _, line := range lines {
			fmt.Fprintf(w, "  - %s\n", line)
		}
	}
	list("Cloth that suits", m.Cloths)
	list("Besides cloth", m.Notions)
	if len(m.Sewing) > 0 {
		fmt.Fprintln(w, "\nSewing order")
	}
	for i, step := range m.Sewing {
		fmt.Fprintf(w, "  %d. %s\n", i+1, step)
	}
	list("Cautions", m.Cautions)
}

// printChecks writes the measured-back table, mm.
func printChecks(w io.Writer, checks []pattern.Check) {
	fmt.Fprintln(w, "Measured back from the pattern, mm (e: the body's measure is estimated)")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "body\t\tease\ttarget\tdrafted\tdifference\t\n")
	for _, c := range checks {
		bodyText, mark, ease := "", "", ""
		if c.Body != 0 {
			bodyText, ease = fmt.Sprintf("%.1f", c.Body), strings.TrimSpace(signed(c.Ease, 1))
		}
		if c.Estimated {
			mark = "e"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.1f\t%.1f\t%s\t  %s\n", bodyText, mark, ease, c.Target, c.Drafted, signed(c.Difference(), 2), c.Name)
	}
	t.Flush()
}

// printEstimates tells what was not measured, and what that may do to the
// pattern.
func printEstimates(w io.Writer, estimates []drafting.Estimate) {
	if len(estimates) == 0 {
		return
	}
	fmt.Fprint(w, "\nEstimated, and by how much the pattern's seam lines move where the body is off by the spread, mm (one in three is farther off)\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "estimate\tspread\tmoves\t\n")
	for _, e := range estimates {
		piece := ""
		if e.Piece != "" {
			piece = ", most the " + strings.ReplaceAll(e.Piece, "_", " ")
		}
		if len(e.Refused) > 0 {
			piece += "; off by that there may be no draft"
		}
		fmt.Fprintf(t, "%s\t%s\t%.1f\t  %s%s\n", estimated(e.Name, e.Value), estimated(e.Name, e.Spread), e.Move, e.Name, piece)
	}
	t.Flush()
}

// estimated writes a value in mm, or in degrees with their sign.
func estimated(n body.Name, v float64) string {
	if info, _ := body.Lookup(n); info.Unit == body.Degree {
		return fmt.Sprintf("%.1f°", v)
	}
	return fmt.Sprintf("%.1f", v)
}

// cutText says how a piece is cut.
func cutText(p pattern.Piece) string {
	s := fmt.Sprintf("cut %d", p.Cut.Count)
	if p.Cut.OnFold {
		s += " on the fold"
	}
	if p.Cut.Pair {
		s += ", a pair"
	}
	if p.Cloth != "" {
		s += ", from " + p.Cloth
	}
	if p.Interfacing > 0 {
		s += fmt.Sprintf(", and %d from interfacing", p.Interfacing)
	}
	return s
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
