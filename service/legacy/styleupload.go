package legacy

import (
	"context"
	"errors"
	"fmt"

	"tapeline/db"
	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
)

// MaxScript is the most bytes of a style's script.
const MaxScript = 128 << 10

// maxStyles is how many styles, and how many revisions of each, a shop may
// have.
const (
	maxStyles         = 200
	maxStyleRevisions = 500
)

// maxFindings is how many findings are told of one script.
const maxFindings = 200

// UploadStyle keeps a script as the next revision, a draft, of the style that
// it says it is. A script that can't be read fails with CodeInvalidInput and
// its line; what works but is hardly meant is among the findings.
func (s *Service) UploadStyle(ctx context.Context, caller Caller, script, note string) (StyleDetail, error) {
	var compiled *style.Style
	var findings []style.Warning
	err := s.onCore(ctx, func() (err error) {
		if compiled, err = s.styles.Compile([]byte(script)); err == nil {
			findings = lint(compiled)
		}
		return err
	})
	if e, ok := errors.AsType[*style.Error](err); ok {
		faults := styleFaults(e)
		faults[0].Field = "/script"
		return StyleDetail{}, invalid(faults)
	}
	if err != nil {
		return StyleDetail{}, err
	}
	if _, builtin := style.Builtin(compiled.Head.Slug); builtin {
		return StyleDetail{}, invalid(fault.List{{Code: fault.Choice, Field: "/script", Value: fault.Shorten(compiled.Head.Slug),
			Accepted: "a slug that no built-in style has", Line: compiled.LineOf(compiled.Head.Slug)}})
	}
	row := db.StyleRevision{StyleID: s.newID(), ShopID: caller.Shop, Slug: compiled.Head.Slug, Hash: mustHash(compiled.Hash),
		Head: encode(compiled.Describe(body.Millimetre)), Lint: encode(findings), Note: optional(note), State: styleStateDraft,
		CreatedBy: actor(caller), CreatedAt: s.now()}
	err = s.store.InTx(ctx, func(tx *db.Tx) (err error) {
		if err := s.roomForStyle(ctx, tx, caller, row.Slug); err != nil {
			return err
		}
		if err := tx.KeepScript(ctx, row.Hash, script, row.CreatedAt); err != nil {
			return err
		}
		if row, err = tx.InsertStyleRevision(ctx, row); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "style.uploaded", row.StyleID, map[string]any{"slug": row.Slug, "revision": row.Number})
	})
	if err != nil {
		return StyleDetail{}, err
	}
	return StyleDetail{Origin: OriginOwn, Revision: &StyleRevision{row, findings}, Description: compiled.Describe(body.Centimetre)}, nil
}

// roomForStyle refuses one more revision where there are as many as are
// allowed.
func (s *Service) roomForStyle(ctx context.Context, tx *db.Tx, caller Caller, slug string) error {
	revisions, err := tx.StyleRevisionCount(ctx, caller.Shop, slug)
	switch {
	case err != nil:
		return err
	case revisions >= maxStyleRevisions:
		return refuse(CodeLimitReached, "a style has at most %d revisions", maxStyleRevisions)
	case revisions > 0:
		return nil
	}
	slugs, err := tx.StyleSlugs(ctx, caller.Shop)
	if err == nil && len(slugs) >= maxStyles {
		err = refuse(CodeLimitReached, "a shop has at most %d styles of its own", maxStyles)
	}
	return err
}

// lint finds what is hardly meant in a script, and in the garment as it is
// drafted to a middling body with nothing chosen.
func lint(s *style.Style) []style.Warning {
	findings := append([]style.Warning{}, s.LintScript()...)
	spec := s.Spec()
	panel := proof.Panel(s.Head.Block, s.Head.Measures...)
	person, faults := body.New(panel[len(panel)/4].Given, spec.Requires)
	if len(faults) > 0 {
		return append(findings, style.Warning{Rule: "not_drafted", Detail: "not tried: the built-in panel lacks a measurement that it needs: " + faults[0].Error()})
	}
	drafted, err := s.Draft(context.Background(), block.Request{Body: person, Fit: spec.Fits[0].Name})
	if e, ok := errors.AsType[*style.Error](err); ok {
		return append(findings, style.Warning{Rule: "not_drafted", Line: e.Line, Piece: e.Piece, Edge: e.Edge, Detail: e.Reason})
	}
	if err != nil {
		return append(findings, style.Warning{Rule: "not_drafted", Detail: fmt.Sprintf("on %s: %v", panel[len(panel)/4].Name, err)})
	}
	findings = append(findings, style.LintDraft(drafted)...)
	return findings[:min(len(findings), maxFindings)]
}
