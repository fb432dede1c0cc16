package proof

import (
	"context"
	"errors"
	"fmt"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/finish"
	"tapeline/drafting/pattern"
	"tapeline/drafting/style"
)

// maxFindings is the maximum number of findings of one style.
const maxFindings = 200

// Average returns the body of a panel on which a style is looked at first.
func Average(panel []Body) Body { return panel[len(panel)/4] }

// Findings reports what is probably a mistake in a style: in its script, and in
// the garment drafted to an average body of the built-in panel with the default
// choices. The error is that of ctx.
func Findings(ctx context.Context, s *style.Style, average Body) ([]style.Finding, error) {
	findings := append([]style.Finding{}, s.LintScript()...)
	add := func(more ...style.Finding) ([]style.Finding, error) {
		findings = append(findings, more...)
		return findings[:min(len(findings), maxFindings)], nil
	}
	spec := s.Spec()
	person, faults := body.New(average.Given, spec.Requires)
	if len(faults) > 0 {
		return add(style.Finding{Rule: "not_drafted",
			Detail: "the built-in panel has no value for a required measurement: " + faults[0].Error()})
	}
	drafted, err := s.Draft(ctx, block.Request{Body: person, Fit: spec.Fits[0].Name})
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if e, ok := errors.AsType[*style.Error](err); ok {
		return add(style.Finding{Rule: "not_drafted", Line: e.Line, Piece: e.Piece, Edge: e.Edge, Detail: e.Reason})
	}
	if err != nil {
		return add(style.Finding{Rule: "not_drafted", Detail: fmt.Sprintf("on %s: %v", average.Name, err)})
	}
	return add(s.LintDraft(drafted)...)
}

// unsewn returns an error if a garment has an edge that must be sewn and is in
// no seam.
func unsewn(p finish.Pattern) error {
	pieces := make([]pattern.Piece, len(p.Pieces))
	for i, q := range p.Pieces {
		pieces[i] = q.Piece
	}
	return style.Unsewn(pieces, p.Seams)
}
