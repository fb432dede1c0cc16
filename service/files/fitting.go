package files

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"text/tabwriter"

	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/drafting/form"
	"tapeline/drafting/render"
	"tapeline/drafting/style"
)

// Fitting is an order tried on a body. Its JSON form is what `tapeline fitting`
// writes to a .json file.
type Fitting struct {
	fitting.Report
	Cures []FittingCure `json:"cures,omitempty"` // if asked for
	// Remaining is what is found with the cures, in large triangles.
	Remaining []fitting.Finding `json:"remaining,omitempty"`

	tried *drafting.Fitting
	title string
}

// A FittingCure is a change of the order that removes a finding, tried.
type FittingCure struct {
	Place  string  `json:"place"`  // of the finding
	Change string  `json:"change"` // ease, alteration or measurement
	Name   string  `json:"name"`
	Before float64 `json:"before_mm"`
	After  float64 `json:"after_mm"`
	Words  string  `json:"words"`
}

// FittingRequest says how an order is tried on.
type FittingRequest struct {
	Order     []byte
	Script    *style.Style
	Mesh      []byte // Wavefront OBJ in mm, nil for a form of the order's measurements
	Landmarks []byte // JSON beside the mesh: {"landmarks_mm": {"nape": [x, y, z], ...}}
	Cloth     string // name of a preset; "" for the one that suits the style
	Quick     bool
	Cures     bool // look for cures of what is found
	Progress  func(steps int, residual float64)
}

// TryOn tries an order on. The error is a fault.List where the input is at fault.
func TryOn(ctx context.Context, r FittingRequest) (*Fitting, error) {
	o, err := ParseOrder(r.Order, own(r.Script)...)
	if err != nil {
		return nil, err
	}
	options := drafting.FittingOptions{Cloth: r.Cloth, Quick: r.Quick, Progress: r.Progress}
	source := fitting.OfMeasurements
	if r.Mesh != nil {
		source = fitting.OfMesh
		if options.Form, err = form.Read(ctx, bytes.NewReader(r.Mesh), bytes.NewReader(r.Landmarks)); err != nil {
			return nil, fault.List{{Code: fault.Format, Field: "/form", Accepted: err.Error()}}
		}
	}
	tried, err := drafting.TryOn(ctx, o, options)
	if err != nil {
		return nil, err
	}
	f := &Fitting{Report: tried.Report(source), tried: tried, title: tried.Title(o.Reference)}
	if !r.Cures || len(f.Findings) == 0 {
		return f, nil
	}
	cured, err := drafting.Cures(ctx, o, options)
	if err != nil {
		return nil, err
	}
	for _, c := range cured.Cures {
		f.Cures = append(f.Cures, FittingCure{c.Finding.Place, string(c.What), c.Name, c.Before, c.After, c.Words})
	}
	f.Remaining = cured.Tried.Findings
	return f, nil
}

// Render returns the fitting as a file of the kind that its name ends in: .svg,
// .png, .pdf or .json. The error is a fault.List for another ending.
func (f *Fitting) Render(ctx context.Context, name string) (File, error) {
	var b bytes.Buffer
	picture, err := f.tried.Picture(ctx, f.title, f.tried.Options)
	if err != nil {
		return File{}, err
	}
	switch ending(name) {
	case "svg":
		err = render.ShadedSVG(ctx, &b, picture)
	case "png":
		err = render.ShadedPNG(ctx, &b, picture, fittingPixels)
	case "pdf":
		err = render.ShadedPDF(ctx, &b, picture)
	case "json":
		err = writeJSON(&b, f)
	default:
		err = fault.List{{Code: fault.Choice, Field: "-o", Value: name,
			Accepted: "a name ending in .svg, .png, .pdf or .json"}}
	}
	return File{Name: name, Data: b.Bytes()}, err
}

const fittingPixels = 1600

// WriteText prints the fitting as tables.
func (f *Fitting) WriteText(out io.Writer) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "level\tbody mm\tworn mm\tease\tcut mm\t")
	for _, l := range f.Levels {
		fmt.Fprintf(w, "%s\t%.0f\t%.0f\t%.0f\t%.0f\t\n", l.Name, l.Body, l.Worn, l.Worn-l.Body, l.Cut)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, x := range f.Findings {
		fmt.Fprintln(out, x.Words)
	}
	for _, c := range f.Cures {
		fmt.Fprintf(out, "%s: %s\n", c.Place, c.Words)
	}
	for _, x := range f.Remaining {
		fmt.Fprintf(out, "left with the cures: %s\n", x.Words)
	}
	if len(f.Cures) > 0 && len(f.Remaining) == 0 {
		fmt.Fprintln(out, "with the cures, nothing is found")
	}
	switch {
	case !f.Settled:
		fmt.Fprintf(out, "did not settle: %.1f %% of the load is not borne\n", 100*f.Residual)
	case len(f.Findings) == 0:
		fmt.Fprintln(out, "nothing found that a cutter would alter")
	}
	if len(f.LeftOut) > 0 {
		fmt.Fprintf(out, "left out: %v\n", f.LeftOut)
	}
	return nil
}
