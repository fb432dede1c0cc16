package render

import (
	"io"
	"slices"

	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/layout"
)

// Format is a form that a pattern leaves the program in.
type Format struct {
	Name      string // as asked for: pdf
	MediaType string // RFC 6838
	write     func(io.Writer, finish.Pattern, Options) error
}

// Options hold what can be asked of any format; each takes what is its own.
type Options struct {
	Sheet  layout.Options // of a PDF; start from layout.On
	Layers []Layer        // of a PDF: what to draw of the pieces, all where none is named
	SVG    SVGOptions
	DXF    DXFOptions
	PNG    PNGOptions
}

var formats = []Format{
	{"pdf", "application/pdf", func(w io.Writer, p finish.Pattern, o Options) error { return PDF(w, p, o.Sheet, o.Layers...) }},
	{"json", "application/json", func(w io.Writer, p finish.Pattern, _ Options) error {
		data, err := JSON(p)
		if err != nil {
			return err
		}
		_, err = w.Write(data)
		return err
	}},
	{"svg", "image/svg+xml", func(w io.Writer, p finish.Pattern, o Options) error { return SVG(w, p, o.SVG) }},
	{"dxf", "image/vnd.dxf", func(w io.Writer, p finish.Pattern, o Options) error { return DXF(w, p, o.DXF) }},
	{"png", "image/png", func(w io.Writer, p finish.Pattern, o Options) error { return PNG(w, p, o.PNG) }},
}

// Formats are all that a pattern can be written in.
func Formats() []Format { return slices.Clone(formats) }

// ParseFormat finds a format by its name. The error is a fault.Fault that
// lists the names.
func ParseFormat(name string) (Format, error) {
	var names []string
	for _, f := range formats {
		if f.Name == name {
			return f, nil
		}
		names = append(names, f.Name)
	}
	return Format{}, fault.Fault{Code: fault.Choice, Field: "/format", Value: fault.Shorten(name), Accepted: joined(names)}
}

// Ending is what the names of its files end in, such as ".pdf".
func (f Format) Ending() string { return "." + f.Name }

// OnPaper reports whether the format is laid out on paper, as Options.Sheet
// says.
func (f Format) OnPaper() bool { return f.Name == "pdf" }

// Write writes a pattern. Nothing is written if an error is returned, but by w
// itself; the error is a fault.List where the options are at fault.
func (f Format) Write(w io.Writer, p finish.Pattern, o Options) error { return f.write(w, p, o) }
