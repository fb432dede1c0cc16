package render

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tapeline/drafting/document"
	"tapeline/drafting/fault"
	"tapeline/drafting/sheets"
)

// Options are the options of files of all formats, in the words of the
// command line and the API. What is zero was not asked for.
type Options struct {
	// Of a PDF.
	Paper       string   `json:"paper,omitempty"`       // as sheets.ParsePaper reads it, or "roll" with Width
	Orientation string   `json:"orientation,omitempty"` // auto, portrait or landscape
	Overlap     float64  `json:"overlap,omitempty"`     // mm of the pattern that neighbouring pages both show
	Margin      *float64 `json:"margin,omitempty"`      // mm left blank on every side of a page
	Layers      []Layer  `json:"layers,omitempty"`      // what to draw of the pieces, all where none is named

	// MakingSheet is front on paper up to A3 and tabloid without layers, otherwise none.
	MakingSheet MakingSheet `json:"making_sheet,omitempty"`

	Width float64 `json:"width,omitempty"` // of a roll, mm; of a PNG, pixels

	// Of an SVG.
	For  SVGFor  `json:"for,omitempty"`
	Text SVGText `json:"text,omitempty"`

	// Of a DXF.
	Unit  DXFUnit  `json:"unit,omitempty"`
	Folds DXFFolds `json:"folds,omitempty"`

	// Of a DXF or a JSON document, mm: how far straight lines may lie from the
	// curves. A document without it has curves alone.
	Flatten float64 `json:"flatten,omitempty"`
}

// roll is the paper whose width is given beside it.
const roll = "roll"

// given names the options that were asked for.
func (o Options) given() []string {
	var names []string
	for _, option := range []struct {
		name  string
		given bool
	}{
		{"paper", o.Paper != ""}, {"width", o.Width != 0}, {"orientation", o.Orientation != ""}, {"overlap", o.Overlap != 0},
		{"margin", o.Margin != nil}, {"layers", len(o.Layers) > 0}, {"for", o.For != ""}, {"text", o.Text != ""},
		{"making_sheet", o.MakingSheet != ""}, {"unit", o.Unit != ""}, {"folds", o.Folds != ""}, {"flatten", o.Flatten != 0},
	} {
		if option.given {
			names = append(names, option.name)
		}
	}
	return names
}

// Fill is the options with what was not asked for filled in, so that they say
// all that the file depends on besides the pattern. The error is a fault.List
// of everything wrong with them, an option that the format does not have among
// it.
func (f Format) Fill(o Options) (Options, error) {
	var faults fault.List
	for _, name := range o.given() {
		if !slices.Contains(f.takes, name) {
			faults = append(faults, fault.Fault{Code: fault.Unknown, Field: fault.Pointer(name), Accepted: f.accepted()})
		}
	}
	faults = append(faults, f.fill(&o)...)
	return o, faults.Err()
}

// accepted says what options the format has.
func (f Format) accepted() string {
	if len(f.takes) == 0 {
		return "no option of " + f.Name + ", which has none"
	}
	return "no option of " + f.Name + ", which has " + strings.Join(f.takes, ", ")
}

// Sheet is how a PDF is laid out on paper. The error is a fault.List of
// everything wrong with that.
func (o Options) Sheet() (sheets.Options, error) {
	if o.Paper == "" {
		o.Paper = "a4"
	}
	var faults fault.List
	var paper sheets.Paper
	var err error
	switch {
	case o.Paper == roll && o.Width == 0:
		err = fault.Fault{Code: fault.Missing, Field: "/width", Accepted: "the width of the roll in mm"}
	case o.Paper == roll:
		paper, err = sheets.Roll(o.Width)
	default:
		paper, err = sheets.ParsePaper(o.Paper)
		if o.Width != 0 {
			faults = append(faults, fault.Fault{Code: fault.Contradiction, Field: "/width", Value: fmt.Sprintf("%g", o.Width),
				Accepted: "given with paper roll alone", Related: []string{"/paper"}})
		}
	}
	if f, ok := errors.AsType[fault.Fault](err); ok {
		if o.Paper == roll {
			f.Field = "/width"
		}
		faults = append(faults, f)
		paper = sheets.Full // what else is wrong is said too
	}
	sheet := sheets.On(paper)
	sheet.Overlap = o.Overlap
	if o.Margin != nil {
		sheet.Margin = *o.Margin
	}
	if o.Orientation != "auto" {
		sheet.Orientation = sheets.Orientation(o.Orientation)
	}
	if wrong, ok := errors.AsType[fault.List](sheet.Check()); ok {
		faults = append(faults, wrong...)
	}
	return sheet, faults.Err()
}

func (o *Options) fillPDF() fault.List {
	sheet, err := o.Sheet()
	faults := listOf(err)
	faults = append(faults, listOf(checkLayers(o.Layers))...)
	faults = append(faults, o.fillFront(sheet.Paper)...)
	if o.Orientation == "" {
		o.Orientation = "auto"
	}
	o.Paper, o.Width, o.Margin = sheet.Paper.Name, 0, &sheet.Margin
	return faults
}

func (o Options) svg() SVGOptions { return SVGOptions{For: o.For, Text: o.Text} }

func (o *Options) fillSVG() fault.List {
	filled, err := o.svg().filled()
	o.For, o.Text = filled.For, filled.Text
	return listOf(err)
}

func (o Options) dxf() DXFOptions {
	return DXFOptions{Unit: o.Unit, Folds: o.Folds, ChordError: o.Flatten}
}

func (o *Options) fillDXF() fault.List {
	filled, err := o.dxf().filled()
	o.Unit, o.Folds, o.Flatten = filled.Unit, filled.Folds, filled.ChordError
	return listOf(err)
}

func (o *Options) fillJSON() fault.List {
	if o.Flatten == 0 {
		return nil
	}
	return listOf(document.CheckFlatten(o.Flatten))
}

func (o *Options) fillPNG() fault.List {
	if o.Width == 0 {
		o.Width = DefaultPixels
	}
	if o.Width != math.Trunc(o.Width) {
		return fault.List{widthFault(o.Width)}
	}
	return listOf(PNGOptions{Width: int(o.Width)}.check())
}

// listOf returns the fault.List of an error, nil if it has none.
func listOf(err error) fault.List {
	list, _ := errors.AsType[fault.List](err)
	return list
}
