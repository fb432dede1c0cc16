package files

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"gonum.org/v1/gonum/spatial/r3"

	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/form"
	"tapeline/drafting/render"
	"tapeline/drafting/style"
)

// Fitting is an order tried on a body. Its JSON form is what `tapeline fitting`
// writes to a .json file.
type Fitting struct {
	Settled  bool             `json:"settled"`
	Residual float64          `json:"residual"`
	Form     fittingForm      `json:"form"`
	Levels   []fittingLevel   `json:"levels"`
	Openings []fittingOpening `json:"openings"`
	Findings []fittingFinding `json:"findings"`
	LeftOut  []string         `json:"left_out"`

	tried *drafting.Fitting
	title string
}

type fittingForm struct {
	Source   string        `json:"source"` // measurements or mesh
	Measures []formMeasure `json:"measures"`
}

type formMeasure struct {
	Name      string  `json:"name"`
	GivenMM   float64 `json:"given_mm"`
	FormMM    float64 `json:"form_mm"`
	Estimated bool    `json:"estimated"`
}

type fittingLevel struct {
	Name      string  `json:"name"`
	HeightMM  float64 `json:"height_mm"`
	BodyGirth float64 `json:"body_girth_mm"`
	WornGirth float64 `json:"worn_girth_mm"`
	CutGirth  float64 `json:"cut_girth_mm"`
}

type fittingOpening struct {
	Name   string  `json:"name"`
	Passes bool    `json:"passes"`
	Girth  float64 `json:"girth_mm"`
	Needed float64 `json:"needed_mm"`
}

type fittingFinding struct {
	Kind  string  `json:"kind"`
	Place string  `json:"place"`
	Piece string  `json:"piece,omitempty"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Limit float64 `json:"limit"`
	Words string  `json:"words"`
}

// FittingRequest says how an order is tried on.
type FittingRequest struct {
	Order     []byte
	Script    *style.Style
	Mesh      []byte // Wavefront OBJ in mm, nil for a form of the order's measurements
	Landmarks []byte // JSON beside the mesh: {"landmarks_mm": {"nape": [x, y, z], ...}}
	Cloth     string // name of a preset; "" for the one that suits the style
	Quick     bool
	Progress  func(steps int, residual float64)
}

// TryOn tries an order on. The error is a fault.List where the input is at fault.
func TryOn(ctx context.Context, r FittingRequest) (*Fitting, error) {
	o, err := ParseOrder(r.Order, own(r.Script)...)
	if err != nil {
		return nil, err
	}
	options := drafting.FittingOptions{Cloth: r.Cloth, Quick: r.Quick, Progress: r.Progress}
	source := "measurements"
	if r.Mesh != nil {
		source = "mesh"
		if options.Form, err = readForm(r.Mesh, r.Landmarks); err != nil {
			return nil, fault.List{{Code: fault.Format, Field: "/form", Accepted: err.Error()}}
		}
	}
	tried, err := drafting.TryOn(ctx, o, options)
	if err != nil {
		return nil, err
	}
	f := &Fitting{Settled: tried.Settled, Residual: tried.Residual, LeftOut: tried.Left, tried: tried,
		Form: fittingForm{Source: source}, Levels: []fittingLevel{}, Openings: []fittingOpening{},
		Findings: []fittingFinding{},
		title:    fmt.Sprintf("Fitting of order %s: %s", o.Reference, tried.Pattern.Style)}
	for _, m := range tried.Form.Measures(tried.Body) {
		f.Form.Measures = append(f.Form.Measures, formMeasure{string(m.Name), m.Body, m.Form,
			m.Estimated || slices.Contains(tried.Assumed, m.Name)})
	}
	for _, l := range tried.Levels {
		f.Levels = append(f.Levels, fittingLevel{l.Name, l.Height, l.Body, l.Worn, l.Cut})
	}
	for _, c := range tried.Pattern.Checks {
		if c.AtLeast && c.Body == 0 {
			f.Openings = append(f.Openings, fittingOpening{c.Name, c.Holds(), c.Drafted, c.Target})
		}
	}
	for _, x := range tried.Findings {
		f.Findings = append(f.Findings, fittingFinding{string(x.Kind), x.Place, x.Piece, x.Value, x.Unit, x.Limit, x.Words})
	}
	return f, nil
}

// readForm reads a mesh and its landmarks.
func readForm(mesh, landmarks []byte) (*form.Form, error) {
	points, triangles, err := form.ReadOBJ(bytes.NewReader(mesh))
	if err != nil {
		return nil, err
	}
	var about struct {
		Landmarks map[form.Landmark][3]float64 `json:"landmarks_mm"`
	}
	if err := json.Unmarshal(landmarks, &about); err != nil {
		return nil, fmt.Errorf("the file of landmarks: %w", err)
	}
	at := map[form.Landmark]r3.Vec{}
	for name, p := range about.Landmarks {
		at[name] = r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	}
	return form.New(points, triangles, at)
}

// Render returns the fitting as a file of the kind that its name ends in: .svg,
// .png, .pdf or .json. The error is a fault.List for another ending.
func (f *Fitting) Render(ctx context.Context, name string) (File, error) {
	var b bytes.Buffer
	var err error
	picture := f.tried.Picture(f.title, f.tried.Options)
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
		fmt.Fprintf(w, "%s\t%.0f\t%.0f\t%.0f\t%.0f\t\n", l.Name, l.BodyGirth, l.WornGirth, l.WornGirth-l.BodyGirth,
			l.CutGirth)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for _, o := range f.Openings {
		if !o.Passes {
			fmt.Fprintf(out, "cannot be put on: %s is %.0f mm, needs %.0f mm\n", o.Name, o.Girth, o.Needed)
		}
	}
	for _, x := range f.Findings {
		fmt.Fprintln(out, x.Words)
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
