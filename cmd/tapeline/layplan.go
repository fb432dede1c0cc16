package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"tapeline/drafting/body"
	"tapeline/drafting/cloth"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
)

// clothFlags are what is said of the cloth that a pattern is cut from.
type clothFlags struct {
	width, selvedge, shrinkage, nap, spread texts
	files                                   texts
}

func (c *clothFlags) add(fs *flag.FlagSet) {
	fs.Var(&c.width, "cloth-width", "`width` of the cloth in the order's unit: the length needed is then planned and printed.\nThis and what follows hold for all cloths of the pattern; for one, with its name\nbefore: lining=150")
	fs.Var(&c.selvedge, "selvedge", "`width` along each edge of the cloth that is not cut from, in the order's unit (default 10 mm)")
	fs.Var(&c.shrinkage, "shrinkage", "`percent` that the cloth shrinks by before it is cut, in length and in width: 3/1.5")
	fs.Var(&c.nap, "nap", "two-way, or one-way where all pieces must lie the same way up (default two-way)")
	fs.Var(&c.spread, "spread", "how the cloth is spread: single, or fold for folded lengthwise (default single)")
	fs.Var(&c.files, "lay-plan", "`FILE` to write the lay plan to, a picture (.svg, .pdf) or .json; may be repeated")
}

func (c *clothFlags) said() map[string][]string {
	return map[string][]string{
		"cloth_width": c.width, "selvedge": c.selvedge, "shrinkage": c.shrinkage, "nap": c.nap, "spread": c.spread,
	}
}

// asked reports whether a lay plan is wanted.
func (c *clothFlags) asked() bool {
	return len(slices.Concat(c.width, c.selvedge, c.shrinkage, c.nap, c.spread, c.files)) > 0
}

// faults are those that can be told before there is a pattern.
func (c *clothFlags) faults() fault.List {
	if !c.asked() {
		return nil
	}
	_, err := cloth.ParseOptions(c.said(), body.Centimetre)
	faults := faultsOf(err)
	for _, f := range c.files {
		if _, err := render.ParseLayPlanFormat(strings.TrimPrefix(filepath.Ext(f), ".")); err != nil {
			faults = append(faults, fault.Fault{Code: fault.Format, Field: "/lay_plan", Value: fault.Shorten(f), Accepted: "a file that ends in .svg, .pdf or .json"})
		}
	}
	return faults
}

// plan lays the pattern on its cloths, and makes the files asked for.
func (c *clothFlags) plan(ctx context.Context, p finish.Pattern, unit body.Unit) (cloth.Plan, []output, error) {
	if !c.asked() {
		return cloth.Plan{}, nil, nil
	}
	o, err := cloth.ParseOptions(c.said(), unit)
	if err != nil {
		return cloth.Plan{}, nil, err
	}
	plan, err := cloth.NewPlan(ctx, p, o)
	if err != nil {
		return cloth.Plan{}, nil, err
	}
	var files []output
	for _, name := range c.files {
		format, err := render.ParseLayPlanFormat(strings.TrimPrefix(filepath.Ext(name), "."))
		if err != nil {
			return cloth.Plan{}, nil, err
		}
		var data bytes.Buffer
		if err := format.Write(&data, plan, unit); err != nil {
			return cloth.Plan{}, nil, err
		}
		files = append(files, output{name, data.Bytes()})
	}
	return plan, files, nil
}

// printLayPlan tells what cloth is needed.
func printLayPlan(w io.Writer, p cloth.Plan, files []output, unit body.Unit) {
	if len(p.Cloths) == 0 {
		return
	}
	fmt.Fprintln(w, "\nCloth to buy")
	for _, l := range p.Cloths {
		fmt.Fprintf(w, "  %s\n", render.ClothText(l, unit))
	}
	for _, f := range files {
		fmt.Fprintf(w, "%s written\n", f.name)
	}
}
