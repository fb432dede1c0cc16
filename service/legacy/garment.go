package legacy

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"tapeline/db"
	"tapeline/drafting"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
)

// This file settles which script a style is: by its slug when an order is
// accepted, and from then on by the script's hash alone.

// pin settles which script a spec's style stands for and says so in the spec,
// with the fit where none was chosen. A shop's own style comes before a
// built-in one of the same slug. What is pinned is kept in the database, so
// that the order can be drafted anew whatever becomes of the style.
func (s *Service) pin(ctx context.Context, q db.Queries, caller Caller, spec Spec, now time.Time) (Spec, *style.Style, error) {
	spec, garment, err := s.find(ctx, q, caller, spec, orderable)
	if err == nil && garment != nil {
		err = q.KeepScript(ctx, mustHash(garment.Hash), garment.Source(), now)
	}
	return spec, garment, err
}

// orderable says why a revision takes no order, "" where it does.
func orderable(r db.StyleRevision) string {
	if r.State == styleStatePublished {
		return ""
	}
	return "a published revision; this one is " + r.State
}

// anyRevision takes every revision: a draft is tried out before it is proved.
func anyRevision(db.StyleRevision) string { return "" }

// find is pin without keeping anything, of a revision that is not refused.
// The style is nil where the spec is for a block.
func (s *Service) find(ctx context.Context, q db.Queries, caller Caller, spec Spec, refused func(db.StyleRevision) string) (Spec, *style.Style, error) {
	spec.StyleHash = ""
	if spec.Style == "" {
		return spec.withFit(nil), nil, nil
	}
	row, err := q.StyleRevision(ctx, caller.Shop, spec.Style, spec.StyleRevision)
	if errors.Is(err, db.ErrNotFound) {
		return s.findBuiltin(ctx, q, caller, spec)
	}
	if err != nil {
		return spec, nil, err
	}
	if why := refused(row); why != "" {
		return spec, nil, notChoosable("/style_revision", why)
	}
	spec.StyleRevision, spec.StyleHash = row.Number, hex.EncodeToString(row.Hash)
	garment, err := s.garment(ctx, q, spec)
	return spec.withFit(garment), garment, asInvalid(err)
}

// findBuiltin is the built-in style where the shop has none of its own that
// serves.
func (s *Service) findBuiltin(ctx context.Context, q db.Queries, caller Caller, spec Spec) (Spec, *style.Style, error) {
	revisions, err := q.StyleRevisionCount(ctx, caller.Shop, spec.Style)
	switch {
	case err != nil:
		return spec, nil, err
	case revisions > 0 && spec.StyleRevision > 0:
		return spec, nil, notChoosable("/style_revision", fmt.Sprintf("one of the style's %d revisions", revisions))
	case revisions > 0:
		return spec, nil, notChoosable("/style", "a style with a published revision; name another of its revisions where that will do")
	}
	garment, ok := style.Builtin(spec.Style)
	switch {
	case !ok:
		slugs, err := q.StyleSlugs(ctx, caller.Shop)
		if err != nil {
			return spec, nil, err
		}
		return spec, nil, invalid(fault.List{fault.UnknownName("/style", spec.Style, "style", append(slugs, drafting.Styles()...))})
	case spec.StyleRevision > 0:
		return spec, nil, notChoosable("/style_revision", "none: a built-in style has no revisions")
	}
	spec.StyleHash = garment.Hash
	return spec.withFit(garment), garment, nil
}

// garment is the style that a spec has pinned, compiled; nil for a block. A
// script that this version of the program can't read, though it once could,
// is an *undrafted.
func (s *Service) garment(ctx context.Context, q db.Queries, spec Spec) (*style.Style, error) {
	if spec.Style == "" {
		return nil, nil
	}
	if b, ok := style.Builtin(spec.Style); ok && b.Hash == spec.StyleHash {
		return b, nil
	}
	if known, ok := s.styles.Get(spec.StyleHash); ok {
		return known, nil
	}
	script, err := q.Script(ctx, mustHash(spec.StyleHash))
	if err != nil {
		return nil, fmt.Errorf("script %s: %w", spec.StyleHash, err)
	}
	compiled, err := s.styles.Compile([]byte(script))
	if e, ok := errors.AsType[*style.Error](err); ok {
		return nil, &undrafted{reasonStyleFailed, styleFaults(e)}
	}
	return compiled, err
}

// asInvalid refuses a request that names a style which can't be read.
func asInvalid(err error) error {
	if u, ok := errors.AsType[*undrafted](err); ok {
		return invalid(u.faults)
	}
	return err
}

// styleFaults say where in a style's script it went wrong, and on what.
func styleFaults(e *style.Error) fault.List {
	var at []string
	if e.Line > 0 {
		at = append(at, fmt.Sprintf("line %d", e.Line))
	}
	if e.Piece != "" && !strings.Contains(e.Reason, e.Piece) {
		at = append(at, "piece "+e.Piece)
	}
	if e.Edge != "" && !strings.Contains(e.Reason, e.Edge) {
		at = append(at, "edge "+e.Edge)
	}
	why := e.Reason
	if len(at) > 0 {
		why = strings.Join(at, ", ") + ": " + why
	}
	f := fault.Fault{Code: fault.Script, Field: "/style", Accepted: why, Line: e.Line}
	if e.Style != "" {
		f.Value = fault.Shorten(e.Style)
	}
	return fault.List{f}
}

// asStyleError is what went wrong in drafting a style. What a script makes and
// cannot be finished is the script's fault too.
func asStyleError(garment *style.Style, err error) *style.Error {
	if e, ok := errors.AsType[*style.Error](err); ok {
		return e
	}
	return &style.Error{Style: garment.Head.Slug, Reason: err.Error()}
}

// mustHash reads a hash that the program wrote.
func mustHash(text string) []byte {
	hash, err := hex.DecodeString(text)
	if err != nil {
		panic("not a hash: " + text)
	}
	return hash
}
