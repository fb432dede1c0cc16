package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/pattern"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// blocks returns the reference of the blocks: what a script finds in each, and
// what an order can set.
func blocks(ctx context.Context) (string, error) {
	var b strings.Builder
	b.WriteString("# The blocks\n\nGenerated from the code by `go generate ./drafting/style`. GUIDE.md, one folder up, " +
		"explains how to write a garment.\nLengths are mm. Edges are in the order met when walking clockwise, as a script " +
		"sees them, each with its role if that has another " +
		"name. What only\nsome drafts have is followed by the choice that gives it, or by \"by body\".\n")
	for _, spec := range block.Specs() {
		fmt.Fprintf(&b, "\n## %s: %s\n\nRequires %s. Uses %s, estimated where not given.\n", spec.Name, spec.Title,
			code(spec.Requires), code(spec.Uses))
		pieces, err := piecesOf(ctx, spec)
		if err != nil {
			return "", fmt.Errorf("%s: %w", spec.Name, err)
		}
		b.WriteString("\n| piece | edges | darts | lines | marks |\n|---|---|---|---|---|\n")
		for _, p := range pieces {
			fmt.Fprintf(&b, "| `%s`%s | %s | %s | %s | %s |\n", p.name, p.when, p.edges, p.darts, p.lines, p.marks)
		}
		writeChoices(&b, spec)
		writeEase(&b, spec)
		if len(spec.Alterations) > 0 {
			b.WriteString("\n| alteration | limits | |\n|---|---|---|\n")
			for _, a := range spec.Alterations {
				fmt.Fprintf(&b, "| `%s` | %g to %g%s | %s |\n", a.Name, a.Min, a.Max,
					map[bool]string{true: ", each side"}[a.Sided], a.Help)
			}
		}
	}
	return b.String(), nil
}

func writeChoices(b *strings.Builder, spec block.Spec) {
	b.WriteString("\n| choice | values, the default first | |\n|---|---|---|\n")
	for _, c := range spec.Choices {
		var values []string
		for _, w := range c.Options {
			if w == c.Default.Word {
				values = slices.Insert(values, 0, "`"+w+"`")
			} else {
				values = append(values, "`"+w+"`")
			}
		}
		if c.Min < c.Max {
			limits := fmt.Sprintf("%g to %g", c.Min, c.Max)
			if c.Default.Word == "" {
				limits = fmt.Sprintf("%g, %s", c.Default.Number, limits)
			}
			values = append(values, limits)
		}
		fmt.Fprintf(b, "| `%s` | %s | %s%s |\n", c.Name, strings.Join(values, ", "), c.Help, spared(c))
	}
}

// spared says which measurements the words of a choice do without.
func spared(c block.Choice) string {
	var s strings.Builder
	for _, w := range c.Options {
		if names := slices.Concat(c.Spares[w].Estimated, c.Spares[w].Unused); len(names) > 0 {
			fmt.Fprintf(&s, " `%s` does not require %s.", w, code(names))
		}
	}
	return s.String()
}

func writeEase(b *strings.Builder, spec block.Spec) {
	b.WriteString("\n| ease |")
	for _, f := range spec.Fits {
		fmt.Fprintf(b, " %s |", f.Name)
	}
	fmt.Fprintf(b, " limits of an order |\n|---|%s---|\n", strings.Repeat("---|", len(spec.Fits)))
	for i, e := range spec.Fits[0].Ease {
		fmt.Fprintf(b, "| `%s` |", e.Name)
		for _, f := range spec.Fits {
			fmt.Fprintf(b, " %g |", f.Ease[i].Value)
		}
		fmt.Fprintf(b, " %g to %g |\n", e.Min, e.Max)
	}
}

func code(names []body.Name) string {
	words := make([]string, len(names))
	for i, n := range names {
		words[i] = "`" + string(n) + "`"
	}
	return strings.Join(words, ", ")
}

// A pieceRow is a piece of a block in any of its drafts.
type pieceRow struct {
	name, when                 string
	edges, darts, lines, marks items
}

// items are names with the choice that gives each, "" for the default.
type items []struct{ name, when string }

func (all *items) add(name, when string) {
	for _, i := range *all {
		if i.name == name {
			return
		}
	}
	*all = append(*all, struct{ name, when string }{name, when})
}

func (all items) String() string {
	words := make([]string, len(all))
	for i, item := range all {
		words[i] = "`" + item.name + "`" + item.when
	}
	return strings.Join(words, ", ")
}

// piecesOf returns the pieces of a block as drafted to three bodies with the
// default choices, and with each word of each choice.
func piecesOf(ctx context.Context, spec block.Spec) ([]*pieceRow, error) {
	var rows []*pieceRow
	panel := proof.Panel(spec.Name, spec.Requires...)
	for i, at := range []int{len(panel) / 4, 1, len(panel) / 2} {
		person, faults := body.NewIn(body.Millimetre, panel[at].Given, spec.Requires, spec.Uses)
		if len(faults) > 0 {
			return nil, faults
		}
		by := map[bool]string{true: " (by body)"}[i > 0]
		for _, e := range proof.Ends(spec) {
			if len(e.Choices) > 1 {
				continue
			}
			p, err := block.Draft(ctx, spec.Name, block.Request{Body: person, Fit: spec.Fits[0].Name, Choices: e.Choices})
			if err != nil {
				continue // no body can have every length
			}
			when := by
			if e.Name != "" {
				when = " (" + strings.Replace(e.Name, "=", " = ", 1) + ")"
			}
			for _, q := range p.Pieces {
				seen, _ := style.AsSeen(q)
				rows = addPiece(rows, seen, when)
			}
		}
	}
	return rows, nil
}

// addPiece adds what a piece has to the row of its name.
func addPiece(rows []*pieceRow, q pattern.Piece, when string) []*pieceRow {
	i := slices.IndexFunc(rows, func(r *pieceRow) bool { return r.name == q.Name })
	if i < 0 {
		i = len(rows)
		rows = append(rows, &pieceRow{name: q.Name, when: when})
	}
	row := rows[i]
	if row.when == when {
		when = ""
	}
	for _, e := range q.Edges {
		if e.Role != pattern.RoleDartMouth {
			role := " (" + string(e.Role) + ")"
			if string(e.Role) == e.Run {
				role = ""
			}
			row.edges.add(e.Run, role+when)
		}
	}
	for _, d := range q.Darts {
		row.darts.add(d.Name, when)
	}
	for _, l := range q.Lines {
		row.lines.add(l.Name, when)
	}
	for _, m := range q.Marks {
		row.marks.add(m.Name, when)
	}
	return rows
}
