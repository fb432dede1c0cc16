package files

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/cost"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/drafting/style"
	"tapeline/service/work"
)

// What a caller says of files, by the types of package render.
type (
	Options = render.Options
	Layer   = render.Layer
	SVGFor  = render.SVGFor
	SVGText = render.SVGText
	DXFUnit = render.DXFUnit
	Folds   = render.DXFFolds
)

// Defaults of options, for help texts.
const (
	DefaultMargin  = sheets.DefaultMargin     // mm
	DefaultFlatten = render.DefaultChordError // mm
	DefaultPixels  = render.DefaultPixels     // width of a PNG
)

// File is a file to write.
type File struct {
	Name string
	Data []byte
}

// Request describes the files to make of an order.
type Request struct {
	Name     string   // of the pattern file; its ending is the format
	Papers   []string // one file for each; none for the default
	Options  Options
	Cloth    map[string][]string // settings by name, as cloth.ParseOptions reads them
	LayPlans []string            // names of the lay plan files

	// MakingSheet is front, none or the name of a PDF of its own; "" for the default.
	MakingSheet string

	format   render.Format
	each     []render.Options // one for each paper
	layPlans []render.LayPlanFormat
}

// Check returns the faults of the request that show before the order is read.
// A request must be checked before it is drafted.
func (r *Request) Check() fault.List {
	faults := r.placeMakingSheet()
	var err error
	if r.format, err = render.ParseFormat(ending(r.Name)); err != nil {
		faults = append(faults, fault.Fault{Code: fault.Format, Field: "/o", Value: fault.Shorten(r.Name),
			Accepted: "a file that ends in " + endings()})
	} else {
		faults = append(faults, r.fillOptions()...)
	}
	if !r.planned() {
		return faults
	}
	_, err = cloth.ParseOptions(r.Cloth, body.Centimetre)
	faults = append(faults, FaultsOf(err)...)
	for _, name := range r.LayPlans {
		format, err := render.ParseLayPlanFormat(ending(name))
		if err != nil {
			faults = append(faults, fault.Fault{Code: fault.Format, Field: "/lay_plan", Value: fault.Shorten(name),
				Accepted: "a file that ends in .svg, .pdf or .json"})
		}
		r.layPlans = append(r.layPlans, format)
	}
	return faults
}

// placeMakingSheet sorts a making sheet in front of the pattern from one in a file
// of its own.
func (r *Request) placeMakingSheet() fault.List {
	switch where := render.MakingSheet(r.MakingSheet); {
	case where == "", where == render.MakingInFront, where == render.MakingNone:
		r.Options.MakingSheet, r.MakingSheet = where, ""
	case ending(r.MakingSheet) != "pdf":
		return fault.List{{Code: fault.Format, Field: "/making_sheet", Value: fault.Shorten(r.MakingSheet),
			Accepted: "front, none or a file that ends in .pdf"}}
	case ending(r.Name) == "pdf":
		r.Options.MakingSheet = render.MakingNone
	}
	return nil
}

// planned reports whether the request includes a lay plan.
func (r *Request) planned() bool {
	for _, values := range r.Cloth {
		if len(values) > 0 {
			return true
		}
	}
	return len(r.LayPlans) > 0
}

// fillOptions completes the options for each paper.
func (r *Request) fillOptions() fault.List {
	papers := r.Papers
	if len(papers) == 0 {
		papers = []string{""}
	}
	var faults fault.List
	for _, name := range papers {
		o := r.Options
		o.Paper = name
		o, err := r.format.Fill(o)
		faults = mergeFaults(faults, FaultsOf(err))
		if !slices.ContainsFunc(r.each, func(other render.Options) bool { return other.Paper == o.Paper }) {
			r.each = append(r.each, o)
		}
	}
	return faults
}

// Drafted is a drafted order.
type Drafted struct {
	Pattern   finish.Pattern
	Estimates []drafting.Estimate
	Unit      body.Unit // of the order
}

// Draft drafts an order file. A script, if there is one, is that of the style
// that the order names; printed receives what it prints. The error is a
// fault.List, or that of the script.
func Draft(ctx context.Context, order []byte, script *style.Style,
	printed func(line int, text string)) (*Drafted, error) {
	o, err := ParseOrder(order, own(script)...)
	if err != nil {
		return nil, err
	}
	printing := o
	if o.Garment != nil {
		printing.Garment = o.Garment.Printing(printed)
	}
	drafted := &Drafted{Unit: o.Unit}
	if err := within(ctx, func(ctx context.Context) (err error) {
		drafted.Pattern, err = drafting.Draft(ctx, printing)
		return err
	}); err != nil {
		return nil, err
	}
	err = within(ctx, func(ctx context.Context) (err error) {
		drafted.Estimates, err = drafting.Estimates(ctx, o)
		return err
	})
	return drafted, err
}

// within does a piece of work within the budget that the service has for it by
// default, so that a script fails here as it does there.
func within(ctx context.Context, do func(context.Context) error) error {
	return work.DefaultBudget().Run(ctx, cost.Meter{}, do)
}

// Files are the files made of a draft, with what its report says of them.
type Files struct {
	patterns []patternFile
	making   []File
	layPlans []File
	plan     cloth.Plan
}

// patternFile is one file of the pattern.
type patternFile struct {
	File
	paper string // "" for a format without paper
	pages int
	front int // pages of the making sheet before them
	inRow int // pages if the pieces lay side by side as drafted
}

// All returns the files.
func (f *Files) All() []File {
	var all []File
	for _, p := range f.patterns {
		all = append(all, p.File)
	}
	return slices.Concat(all, f.making, f.layPlans)
}

// Render makes the files of a request in memory. The error contains a
// fault.List if the options or the cloth are at fault.
func (d *Drafted) Render(ctx context.Context, r *Request) (*Files, error) {
	var f Files
	if r.planned() {
		if err := within(ctx, func(ctx context.Context) error { return f.layOut(ctx, d, r) }); err != nil {
			return nil, err
		}
	}
	var errs []error
	for _, o := range r.each {
		if ctx.Err() != nil {
			return nil, errors.New("stopped")
		}
		var p patternFile
		err := within(ctx, func(ctx context.Context) (err error) {
			p, err = d.render(ctx, r.format, o)
			return err
		})
		if err != nil && r.format.OnPaper() {
			err = fmt.Errorf("on %s: %w", o.Paper, err)
		}
		if err != nil {
			errs = append(errs, err)
			continue
		}
		p.Name = r.Name
		if len(r.each) > 1 {
			p.Name = strings.TrimSuffix(r.Name, r.format.Ending()) + "-" + o.Paper + r.format.Ending()
		}
		f.patterns = append(f.patterns, p)
	}
	if r.MakingSheet != "" {
		errs = append(errs, within(ctx, func(ctx context.Context) error {
			data, err := d.makingSheet(ctx, r.each[0])
			f.making = append(f.making, File{r.MakingSheet, data})
			return err
		}))
	}
	return &f, errors.Join(errs...)
}

// makingSheet makes the making sheet in a file of its own, on letter paper beside a
// pattern on American paper.
func (d *Drafted) makingSheet(ctx context.Context, beside render.Options) ([]byte, error) {
	format, err := render.ParseFormat(render.MakingSheetName)
	if err != nil {
		return nil, err
	}
	var data bytes.Buffer
	err = format.Write(ctx, &data, d.Pattern, render.Options{Paper: render.MakingPaper(beside, d.Pattern.Label)})
	return data.Bytes(), err
}

func (d *Drafted) render(ctx context.Context, format render.Format, o render.Options) (patternFile, error) {
	var data bytes.Buffer
	if err := format.Write(ctx, &data, d.Pattern, o); err != nil {
		return patternFile{}, err
	}
	p := patternFile{File: File{Data: data.Bytes()}}
	if !format.OnPaper() {
		return p, nil
	}
	on, err := o.Sheet()
	if err != nil {
		return patternFile{}, err
	}
	p.paper = o.Paper
	if p.front, err = render.CountMakingPages(ctx, d.Pattern, o); err != nil {
		return patternFile{}, err
	}
	if p.pages, err = sheets.PageCount(ctx, d.Pattern, on); err != nil {
		return patternFile{}, err
	}
	on.Placing = sheets.InRow
	p.inRow, err = sheets.PageCount(ctx, d.Pattern, on)
	return p, err
}

// layOut lays the pattern on its cloths and makes the lay plan files.
func (f *Files) layOut(ctx context.Context, d *Drafted, r *Request) error {
	o, err := cloth.ParseOptions(r.Cloth, d.Unit)
	if err != nil {
		return err
	}
	if f.plan, err = cloth.NewPlan(ctx, d.Pattern, o); err != nil {
		return err
	}
	for i, name := range r.LayPlans {
		var data bytes.Buffer
		if err := r.layPlans[i].Write(&data, f.plan, d.Unit); err != nil {
			return err
		}
		f.layPlans = append(f.layPlans, File{name, data.Bytes()})
	}
	return nil
}

// OptionsAtFault reports whether Render failed because of the request, rather
// than of the pattern.
func OptionsAtFault(err error) bool {
	_, ok := errors.AsType[fault.List](err)
	return ok
}

// ending returns the ending of a file's name without its dot.
func ending(name string) string { return strings.TrimPrefix(filepath.Ext(name), ".") }

// endings lists the endings of pattern files.
func endings() string {
	var all []string
	for _, f := range render.Formats() {
		all = append(all, f.Ending())
	}
	last := len(all) - 1
	return strings.Join(all[:last], ", ") + " or " + all[last]
}

// own returns a script as a list, empty for none.
func own(script *style.Style) []*style.Style {
	if script == nil {
		return nil
	}
	return []*style.Style{script}
}
