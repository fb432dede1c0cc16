package files

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tapeline/drafting"
	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
	"tapeline/drafting/render"
)

// WriteText writes what was drafted and which files were made of it.
func (d *Drafted) WriteText(w io.Writer, f *Files) {
	p := d.Pattern
	fmt.Fprintf(w, "%s: %s\n\n", p.Label.Reference, p.Style)
	reportChecks(w, p.Checks)
	reportEstimates(w, d.Estimates)
	fmt.Fprintln(w)
	for i, piece := range p.Pieces {
		fmt.Fprintf(w, "piece %d of %d: %s, %s\n", i+1, len(p.Pieces), piece.Title, cutText(piece.Piece))
	}
	for _, warning := range p.Warnings {
		fmt.Fprintf(w, "note: %s\n", warning)
	}
	if p.Instructions != nil {
		reportInstructions(w, *p.Instructions)
		fmt.Fprintln(w)
	}
	for _, file := range f.patterns {
		if file.paper == "" {
			fmt.Fprintf(w, "%s written\n", file.Name)
			continue
		}
		fmt.Fprintf(w, "%s written: %s on %s", file.Name, plural(file.pages, "page"), file.paper)
		if file.inRow != file.pages {
			fmt.Fprintf(w, " (%d with the pieces side by side)", file.inRow)
		}
		if file.front > 0 {
			fmt.Fprintf(w, ", and the making sheet in front, %s", plural(file.front, "page"))
		}
		fmt.Fprintln(w)
	}
	for _, file := range f.making {
		fmt.Fprintf(w, "%s written: the making sheet\n", file.Name)
	}
	f.reportCloth(w, d.Unit)
}

// reportCloth writes the lengths of cloth to buy.
func (f *Files) reportCloth(w io.Writer, unit body.Unit) {
	if len(f.plan.Cloths) == 0 {
		return
	}
	fmt.Fprintln(w, "\nCloth to buy")
	for _, l := range f.plan.Cloths {
		fmt.Fprintf(w, "  %s\n", render.ClothText(l, unit))
	}
	for _, file := range f.layPlans {
		fmt.Fprintf(w, "%s written\n", file.Name)
	}
}

// reportInstructions writes how a garment is sewn.
func reportInstructions(w io.Writer, m pattern.Instructions) {
	list := func(title string, lines []string) {
		if len(lines) > 0 {
			fmt.Fprintf(w, "\n%s\n", title)
		}
		for _, line := range lines {
			fmt.Fprintf(w, "  - %s\n", line)
		}
	}
	list("Cloth that suits", m.Cloths)
	list("Besides cloth", m.Notions)
	if len(m.Sewing) > 0 {
		fmt.Fprintln(w, "\nSewing order")
	}
	for i, step := range m.Sewing {
		fmt.Fprintf(w, "  %d. %s\n", i+1, step)
	}
	list("Cautions", m.Cautions)
}

// reportChecks writes the measures read back from the draft, in mm.
func reportChecks(w io.Writer, checks []pattern.Check) {
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
		fmt.Fprintf(t, "%s\t%s\t%s\t%.1f\t%.1f\t%s\t  %s\n",
			bodyText, mark, ease, c.Target, c.Drafted, signed(c.Difference(), 2), c.Name)
	}
	t.Flush()
}

// reportEstimates writes the estimated measurements and their effect on the
// pattern.
func reportEstimates(w io.Writer, estimates []drafting.Estimate) {
	if len(estimates) == 0 {
		return
	}
	fmt.Fprint(w, "\nEstimated measurements, mm: how far the seam lines move if the body differs by the spread\n"+
		"(about one body in three differs by more)\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "estimate\tspread\tmoves\t\n")
	for _, e := range estimates {
		piece := ""
		if e.Piece != "" {
			piece = ", most the " + strings.ReplaceAll(e.Piece, "_", " ")
		}
		if len(e.Refused) > 0 {
			piece += "; a body that differs by the spread may not be draftable"
		}
		fmt.Fprintf(t, "%s\t%s\t%.1f\t  %s%s\n", estimated(e.Name, e.Value), estimated(e.Name, e.Spread), e.Move, e.Name,
			piece)
	}
	t.Flush()
}

// estimated formats a value in mm, or in degrees with their sign.
func estimated(n body.Name, v float64) string {
	if info, _ := body.Lookup(n); info.Unit == body.Degree {
		return fmt.Sprintf("%.1f°", v)
	}
	return fmt.Sprintf("%.1f", v)
}

// cutText says how a piece is cut, in the words of a sentence.
func cutText(p pattern.Piece) string {
	s := strings.ToLower(p.Cut.String())
	if p.Cloth != "" {
		s += ", from " + p.Cloth
	}
	if p.Interfacing > 0 {
		s += fmt.Sprintf(", and %d from interfacing", p.Interfacing)
	}
	return s
}
