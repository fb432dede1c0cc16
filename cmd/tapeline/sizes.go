package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"tapeline/service/files"
)

const sizesAbout = `
Drafts a block, a built-in style or a script to every size of a table and writes the
sizes nested, each piece in all sizes on one grain. The ending of FILE is the format:
.pdf for paper at true scale, with the table of finished measurements and of what each
size adds in front; .dxf with a block for each piece and size; .svg for a picture; .json
for the tables as data. The table is a CSV file whose columns are measurement names, in
cm, and "size"; or en13402 for women and en13402-men for men, the girths of EN 13402-3 at
one height, all other measurements estimated. Every size is drafted to its own
measurements: sew a sample of each before you cut stock. Exits with 0 if the file was
written, 1 if a size cannot be drafted, and 2 if a flag is wrong or a file could not be
read or written.`

// sizesFlags are the flags of sizes.
type sizesFlags struct {
	files.SizesRequest
	table, only string
}

func (s *sizesFlags) add(fs *flag.FlagSet) {
	o := &s.Options
	fs.StringVar(&s.Name, "o", "", "the `FILE` to write (required)")
	fs.StringVar(&s.table, "table", "", "the `table`: a FILE.csv, en13402 or en13402-men (required)")
	fs.StringVar(&s.only, "size", "", "the `sizes` of the table to draft, separated by commas (default all)")
	fs.StringVar(&s.Fit, "fit", "", "the `fit` (default the first of the style)")
	fs.Var((*texts)(&s.Set), "set", "`name=value` of a choice, ease/NAME or allowances/EDGE, lengths in cm;\n"+
		"may be repeated")
	fs.Var((*texts)(&s.Columns), "column", "`measurement=column` reads a column with another name as a measurement")
	fs.StringVar(&o.Paper, "paper", "", "`paper` of a PDF, as of tapeline draft (default a4)")
	fs.Float64Var(&o.Width, "width", 0, "PDF on paper roll: width of the roll in `mm`")
	fs.Float64Var(&o.Overlap, "overlap", 0, "PDF: `mm` that neighbouring sheets share (default 0)")
	fs.StringVar(&o.Orientation, "orientation", "", "PDF: portrait, landscape or auto (default auto)")
	fs.StringVar((*string)(&o.MakingSheet), "size-table", "", "PDF: `where` the tables go: front or none\n"+
		"(default front on paper up to A3 and tabloid, otherwise none)")
	fs.StringVar((*string)(&o.Unit), "unit", "", "DXF: mm or inch (default mm)")
	fs.StringVar((*string)(&o.Folds), "folds", "", "DXF: pieces on the fold are half or unfolded (default half)")
}

func runSizes(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var s sizesFlags
	fs := newFlags("sizes", "BLOCK|STYLE|FILE.star --table TABLE -o FILE", sizesAbout, stderr)
	s.add(fs)
	positional, code, ok := parseFlags(fs, args, "a block, a style or a script")
	if !ok {
		return code
	}
	if s.Garment = positional[0]; strings.HasSuffix(s.Garment, ".star") {
		if s.Script, ok = readScript(s.Garment, stderr); !ok {
			return exitFaults
		}
	}
	if s.only != "" {
		s.Only = strings.Split(s.only, ",")
	}
	if faults := s.Check(); len(faults) > 0 {
		printFaults(stderr, "tapeline sizes", faults)
		return exitUsage
	}
	var table io.Reader
	if strings.HasSuffix(s.table, ".csv") {
		f, err := os.Open(s.table)
		if err != nil {
			fmt.Fprintf(stderr, "tapeline sizes: %v\n", err)
			return exitUsage
		}
		defer f.Close()
		table = f
	}
	run, err := s.Draft(ctx, s.table, table)
	var made files.File
	if err == nil {
		made, err = s.Render(ctx, run)
	}
	if err != nil {
		printFaults(stderr, "tapeline sizes", files.FaultsOf(err))
		return exitFaults
	}
	if err := writeAll([]files.File{made}); err != nil {
		fmt.Fprintf(stderr, "tapeline sizes: %v\n", err)
		return exitUsage
	}
	if err := run.WriteText(stdout); err != nil {
		fmt.Fprintf(stderr, "tapeline sizes: %v\n", err)
		return exitUsage
	}
	return exitDone
}
