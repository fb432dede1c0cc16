package render

import (
	"context"
	"io"
	"slices"

	"tapeline/drafting/cost"
	"tapeline/drafting/document"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/sheets"
)

// Format is a form that a pattern leaves the program in.
type Format struct {
	Name      string   // as asked for: pdf
	MediaType string   // RFC 6838
	takes     []string // the options that it has, by name
	fill      func(*Options) fault.List
	write     func(context.Context, io.Writer, finish.Pattern, Options) error
}

// formats is the one list: the command line, the service and the contract's
// tests go by it.
var formats = []Format{
	{"pdf", "application/pdf", []string{"paper", "width", "orientation", "overlap", "margin", "layers", "making_sheet"},
		(*Options).fillPDF, writePDF},
	{"json", "application/json", []string{"flatten"}, (*Options).fillJSON, writeJSON},
	{"svg", "image/svg+xml", []string{"for", "text"}, (*Options).fillSVG, writeSVG},
	{"dxf", "image/vnd.dxf", []string{"unit", "folds", "flatten"}, (*Options).fillDXF, writeDXF},
	{"png", "image/png", []string{"width"}, (*Options).fillPNG, writePNG},
}

// Formats are all that a pattern can be written in.
func Formats() []Format { return slices.Clone(formats) }

// ParseFormat finds a format by its name, that of a making sheet too. The error is
// a fault.Fault that lists the names.
func ParseFormat(name string) (Format, error) {
	return find(append(Formats(), makingFormat), name, func(f Format) string { return f.Name })
}

// find returns the format of a name.
func find[F any](formats []F, name string, nameOf func(F) string) (F, error) {
	var names []string
	for _, f := range formats {
		if nameOf(f) == name {
			return f, nil
		}
		names = append(names, nameOf(f))
	}
	var none F
	return none, fault.OneOf("/format", name, names...)[0]
}

// Ending returns the ending of the names of its files, such as ".pdf".
func (f Format) Ending() string {
	if f.Name == MakingSheetName {
		return ".pdf"
	}
	return "." + f.Name
}

// OnPaper reports whether the format is laid out on paper, as Options.Sheet
// says.
func (f Format) OnPaper() bool { return slices.Contains(f.takes, "orientation") }

// Takes are the options that the format has, by the names of Options.
func (f Format) Takes() []string { return slices.Clone(f.takes) }

// Write writes a pattern. Options that are not given are as Fill fills them in;
// options of other formats are ignored. If it returns an error other than that of
// w, it has written nothing; the error is a fault.List if the options are wrong.
func (f Format) Write(ctx context.Context, w io.Writer, p finish.Pattern, o Options) error {
	if err := cost.Step(ctx); err != nil {
		return err
	}
	return f.write(ctx, w, p, o)
}

// CanOverflow reports whether a pattern can be too large for some options of the
// format, as CheckFits finds out.
func (f Format) CanOverflow() bool { return f.Name == "pdf" || f.Name == "png" }

// CheckFits reports whether the pattern fits the paper or the picture of the
// options, without drawing it. The error is a fault.List if it does not.
func (f Format) CheckFits(ctx context.Context, p finish.Pattern, o Options) error {
	switch f.Name {
	case "pdf":
		sheet, err := o.Sheet()
		if err != nil {
			return err
		}
		_, err = sheets.PageCount(ctx, p, sheet)
		return err
	case "png":
		if faults := o.fillPNG(); faults != nil {
			return faults
		}
		_, _, err := layOutPNG(ctx, p, PNGOptions{Width: int(o.Width)})
		return err
	}
	return nil
}

func writePDF(ctx context.Context, w io.Writer, p finish.Pattern, o Options) error {
	sheet, err := o.Sheet()
	if err != nil {
		return err
	}
	if faults := o.fillFront(sheet.Paper); faults != nil {
		return faults
	}
	return writePattern(ctx, w, p, sheet, o.MakingSheet == MakingInFront, o.Layers)
}

// writeJSON writes the document of a pattern with its label.
func writeJSON(_ context.Context, w io.Writer, p finish.Pattern, o Options) error {
	if faults := o.fillJSON(); faults != nil {
		return faults
	}
	d := document.New(p)
	label := document.Label(p.Label)
	d.Label = &label
	if o.Flatten != 0 {
		d = d.Flatten(o.Flatten)
	}
	data, err := d.Encode()
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}

func writeSVG(ctx context.Context, w io.Writer, p finish.Pattern, o Options) error {
	return SVG(ctx, w, p, o.svg())
}

func writeDXF(_ context.Context, w io.Writer, p finish.Pattern, o Options) error {
	return DXF(w, p, o.dxf())
}

func writePNG(ctx context.Context, w io.Writer, p finish.Pattern, o Options) error {
	if faults := o.fillPNG(); faults != nil {
		return faults
	}
	return PNG(ctx, w, p, PNGOptions{Width: int(o.Width)})
}
