package files

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/render"
	"tapeline/drafting/sizes"
	"tapeline/drafting/style"
)

// SizesRequest describes a size run to write to a file.
type SizesRequest struct {
	Garment string       // a block or style
	Script  *style.Style // the style, if it is not built in
	Fit     string       // "" for the first
	Set     []string     // name=value of choices, ease and allowances
	Only    []string     // names of sizes; none for all of the table
	Columns []string     // measurement=column for columns with other names
	Name    string       // of the file; its ending is the format
	Options Options

	format render.SizesFormat
	base   drafting.Order
	needed []body.Name
}

// Check returns the faults that show before the table is read. A request must be checked
// before it is drafted.
func (r *SizesRequest) Check() fault.List {
	var faults fault.List
	var err error
	if r.format, err = render.ParseSizesFormat(ending(r.Name)); err != nil {
		faults = append(faults, fault.Fault{Code: fault.Format, Field: "/o", Value: fault.Shorten(r.Name),
			Accepted: "a file that ends in .pdf, .dxf, .svg or .json"})
	} else if r.Options, err = r.format.Fill(r.Options); err != nil {
		faults = append(faults, FaultsOf(err)...)
	}
	styles := own(r.Script)
	if r.Script != nil {
		r.Garment = r.Script.Head.Slug
	}
	var fits []string
	if r.Fit != "" {
		fits = []string{r.Fit}
	}
	variants, more := variantsOf(r.Garment, styles, fits, r.Set)
	if faults = append(faults, more...); len(faults) > 0 {
		return faults
	}
	if len(variants) != 1 {
		return fault.List{{Code: fault.Format, Field: "/set", Value: fault.Shorten(strings.Join(r.Set, " ")),
			Accepted: "one value of each choice"}}
	}
	spec, _ := drafting.Find(r.Garment, styles...)
	r.base, r.needed = variants[0].Order, spec.Requires
	return nil
}

// SizeRun is a drafted size run.
type SizeRun struct {
	sizes.Run
	Ignored []string // columns of the table
}

// Draft drafts the sizes of a standard table, or of a CSV file that has the name. The
// error is a fault.List.
func (r *SizesRequest) Draft(ctx context.Context, name string, file io.Reader) (SizeRun, error) {
	table, ignored, err := r.table(name, file)
	if err != nil {
		return SizeRun{}, err
	}
	table, faults := sizes.Only(table, r.Only)
	if len(faults) > 0 {
		return SizeRun{}, faults
	}
	run, err := sizes.Draft(ctx, r.base, table)
	return SizeRun{run, ignored}, err
}

func (r *SizesRequest) table(name string, file io.Reader) (table []sizes.Size, ignored []string, err error) {
	if file == nil {
		table, ok := sizes.Standard(name, r.needed...)
		if !ok {
			return nil, nil, fault.List{{Code: fault.Choice, Field: "/table", Value: fault.Shorten(name),
				Accepted: "a file that ends in .csv, or " + strings.Join(sizes.StandardNames(), " or ")}}
		}
		return table, nil, nil
	}
	renamed, faults := renamedColumns(r.Columns)
	if len(faults) > 0 {
		return nil, nil, faults
	}
	table, ignored, err = sizes.ReadCSV(file, renamed)
	if err != nil {
		return nil, nil, fault.List{{Code: fault.Format, Field: "/table", Value: fault.Shorten(name), Accepted: err.Error()}}
	}
	return table, ignored, nil
}

// Render makes the file of a run.
func (r *SizesRequest) Render(ctx context.Context, run SizeRun) (File, error) {
	var data bytes.Buffer
	err := within(ctx, func(ctx context.Context) error {
		return r.format.Write(ctx, &data, run.Run, r.base.Unit, r.Options)
	})
	return File{r.Name, data.Bytes()}, err
}

// sizesInText is the most sizes side by side on the screen.
const sizesInText = 6

// WriteText writes the finished measurements of the sizes, in cm, and what each adds to
// the one before.
func (r SizeRun) WriteText(w io.Writer) error {
	fmt.Fprintf(w, "%s, %s: finished measurements in cm, and what each size adds\n", r.Title, strings.ToLower(r.Span()))
	for from := 0; from < len(r.Sizes); from += sizesInText {
		to := min(from+sizesInText, len(r.Sizes))
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintln(t)
		for _, name := range r.Names()[from:to] {
			fmt.Fprintf(t, "\t%s\t", name)
		}
		fmt.Fprintln(t)
		for _, m := range r.Finished() {
			steps := m.Steps()
			fmt.Fprint(t, m.Name)
			for i := from; i < to; i++ {
				value, step := "", ""
				if v, ok := m.Values[i]; ok {
					value = fmt.Sprintf("%.1f", body.Centimetre.From(v))
				}
				if v, ok := steps[i]; ok {
					step = fmt.Sprintf("%+.1f", body.Centimetre.From(v))
				}
				fmt.Fprintf(t, "\t%s\t%s", value, step)
			}
			fmt.Fprintln(t, "\t")
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	if len(r.Ignored) > 0 {
		fmt.Fprintf(w, "\ncolumns that are no measurements, ignored: %s\n", strings.Join(r.Ignored, ", "))
	}
	return nil
}
