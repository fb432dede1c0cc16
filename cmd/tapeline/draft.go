package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/layout"
	"tapeline/drafting/pattern"
	"tapeline/drafting/render"
)

const draftAbout = `
Drafts an order and writes the finished pattern, by the ending of FILE as .pdf
on paper or as .json. "-" reads the order from standard input. With several
papers each gets its own file, with the paper's name before the ending. Prints
what was measured back from the pattern and how many pages it takes. Exits with
0 where the pattern was written, with 1 where the order is at fault or cannot
be drafted, with 2 where a file could not be read or written.`

func runDraft(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	fs := newFlags("draft", "ORDER.json --paper a4 -o FILE", draftAbout, stderr)
	var papers texts
	file := fs.String("o", "", "the `FILE` to write, .pdf or .json (required)")
	fs.Var(&papers, "paper", "`paper` to print on: a4 to a0, letter, legal, tabloid, ansi-c to ansi-e, full (one sheet),\nroll-914 (a roll of that width in mm), roll-36in; may be repeated (default a4)")
	margin := fs.Float64("margin", layout.DefaultMargin, "`mm` left blank on every side of a page")
	overlap := fs.Float64("overlap", 0, "`mm` of the pattern that neighbouring pages both show; 0 to butt them")
	orientation := fs.String("orientation", "", "portrait or landscape (default whichever takes fewer pages)")
	positional, code, ok := parseFlags(fs, args, "an order")
	if !ok {
		return code
	}
	options, faults := layoutsOf(papers, layout.Options{Margin: *margin, Overlap: *overlap, Orientation: layout.Orientation(*orientation)})
	switch filepath.Ext(*file) {
	case ".pdf", ".json":
	default:
		faults = append(faults, fault.Fault{Code: fault.Format, Field: "/o", Value: fault.Shorten(*file), Accepted: "a file that ends in .pdf or .json"})
	}
	if len(faults) > 0 {
		printFaults(stderr, "tapeline draft", faults)
		return exitUsage
	}
	data, err := readInput(positional[0], stdin)
	if err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	p, err := draftOrder(data)
	if err != nil {
		printFaults(stderr, positional[0], faultsOf(err))
		return exitFaults
	}
	sheets, err := renderAll(ctx, p, *file, options)
	if err != nil {
		printFaults(stderr, "tapeline draft", faultsOf(err))
		if _, options := errors.AsType[fault.List](err); options {
			return exitUsage
		}
		return exitFaults
	}
	var outputs []output
	for _, s := range sheets {
		outputs = append(outputs, s.output)
	}
	if err := writeAll(outputs); err != nil {
		fmt.Fprintf(stderr, "tapeline draft: %v\n", err)
		return exitUsage
	}
	printDraft(stdout, p, sheets)
	return exitDone
}

// layoutsOf is how the pattern is laid out on each of the papers named.
func layoutsOf(papers []string, like layout.Options) ([]layout.Options, fault.List) {
	if len(papers) == 0 {
		papers = []string{"a4"}
	}
	var options []layout.Options
	var faults fault.List
	for _, name := range papers {
		paper, err := layout.ParsePaper(name)
		if err != nil {
			faults = append(faults, faultsOf(err)...)
			continue
		}
		o := like
		o.Paper = paper
		if !slices.Contains(options, o) {
			options = append(options, o)
		}
	}
	return options, faults
}

func draftOrder(data []byte) (finish.Pattern, error) {
	o, err := drafting.ParseOrder(data)
	if err != nil {
		return finish.Pattern{}, err
	}
	return drafting.Draft(o)
}

// A sheet is one file of the pattern.
type sheet struct {
	output
	paper        string // "" for a format without paper
	pages, inRow int    // with the pieces laid for few pages, and side by side as drafted
}

// renderAll makes the files in memory: nothing is written until all are there.
func renderAll(ctx context.Context, p finish.Pattern, file string, options []layout.Options) ([]sheet, error) {
	ext := filepath.Ext(file)
	if ext == ".json" {
		data, err := render.JSON(p)
		return []sheet{{output: output{file, data}}}, err
	}
	var sheets []sheet
	var errs []error
	for _, o := range options {
		if err := ctx.Err(); err != nil {
			return nil, errors.New("stopped")
		}
		s, err := renderOn(p, o)
		if err != nil {
			errs = append(errs, fmt.Errorf("on %s: %w", o.Paper.Name, err))
			continue
		}
		s.name = file
		if len(options) > 1 {
			s.name = strings.TrimSuffix(file, ext) + "-" + o.Paper.Name + ext
		}
		sheets = append(sheets, s)
	}
	return sheets, errors.Join(errs...)
}

func renderOn(p finish.Pattern, o layout.Options) (sheet, error) {
	var data bytes.Buffer
	if err := render.PDF(&data, p, o); err != nil {
		return sheet{}, err
	}
	pages, err := layout.PageCount(p, o)
	if err != nil {
		return sheet{}, err
	}
	o.Placing = layout.InRow
	inRow, err := layout.PageCount(p, o)
	return sheet{output: output{data: data.Bytes()}, paper: o.Paper.Name, pages: pages, inRow: inRow}, err
}

func printDraft(w io.Writer, p finish.Pattern, sheets []sheet) {
	fmt.Fprintf(w, "%s: %s\n\n", p.Info.Reference, p.Info.Style)
	printChecks(w, p.Checks)
	fmt.Fprintln(w)
	for i, piece := range p.Pieces {
		fmt.Fprintf(w, "piece %d of %d: %s, %s\n", i+1, len(p.Pieces), piece.Title, cutText(piece.Cut))
	}
	for _, warning := range p.Warnings {
		fmt.Fprintf(w, "note: %s\n", warning)
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

// cutText says how a piece is cut.
func cutText(c pattern.Cut) string {
	s := fmt.Sprintf("cut %d", c.Count)
	if c.OnFold {
		s += " on the fold"
	}
	if c.Pair {
		s += ", a pair"
	}
	return s
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
