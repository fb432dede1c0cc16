package legacy

import (
	"context"
	"encoding/hex"
	"errors"
	"time"

	"tapeline/db"
	"tapeline/drafting/style"
	"tapeline/service/styles"
)

// pinStyle resolves the spec's style for an order, stores its script, and
// returns the spec with the revision, the hash and the fit. The style is nil if
// the spec is for a block.
func (s *Service) pinStyle(
	ctx context.Context, q db.Queries, caller Caller, spec Spec, now time.Time,
) (Spec, *style.Style, error) {
	if spec.Style == "" {
		return spec.withStyle(styles.Resolved{}), nil, nil
	}
	r, err := s.cfg.Styles.Pin(ctx, q, caller.Shop, spec.styleRef(), now)
	return spec.withStyle(r), r.Garment, err
}

// resolveStyle is pinStyle for a revision in any state, without storing the
// script.
func (s *Service) resolveStyle(
	ctx context.Context, q db.Queries, caller Caller, spec Spec,
) (Spec, *style.Style, error) {
	if spec.Style == "" {
		return spec.withStyle(styles.Resolved{}), nil, nil
	}
	r, err := s.cfg.Styles.Resolve(ctx, q, caller.Shop, spec.styleRef())
	return spec.withStyle(r), r.Garment, err
}

// compileStyle returns the style that a spec pinned, nil for a block. The error
// is an *undrafted if this version of the program does not accept the script.
func (s *Service) compileStyle(ctx context.Context, q db.Queries, spec Spec) (*style.Style, error) {
	if spec.Style == "" {
		return nil, nil
	}
	garment, err := s.cfg.Styles.Compile(ctx, q, spec.Style, spec.StyleHash)
	if e, ok := errors.AsType[*styles.ScriptError](err); ok {
		return nil, &undrafted{reasonStyleFailed, e.Faults}
	}
	return garment, err
}

func (s Spec) styleRef() styles.Ref { return styles.Ref{Slug: s.Style, Revision: s.StyleRevision} }

// withStyle returns the spec with the style that was resolved for it, and its
// first fit unless it names one.
func (s Spec) withStyle(r styles.Resolved) Spec {
	s.StyleHash = ""
	if r.Garment != nil {
		s.StyleRevision, s.StyleHash = r.Revision, r.Garment.Hash
	}
	return s.withFit(r.Garment)
}

// asInvalid returns the faults of a script as those of the request that names
// its style.
func asInvalid(err error) error {
	if u, ok := errors.AsType[*undrafted](err); ok {
		return invalid(u.faults)
	}
	return err
}

// asStyleError returns what went wrong in drafting a style. If a garment cannot
// be finished, its script is at fault too.
func asStyleError(garment *style.Style, err error) *style.Error {
	if e, ok := errors.AsType[*style.Error](err); ok {
		return e
	}
	return &style.Error{Style: garment.Head.Slug, Reason: err.Error()}
}

// mustHash decodes a hash that the program wrote.
func mustHash(text string) []byte {
	hash, err := hex.DecodeString(text)
	if err != nil {
		panic("not a hash: " + text)
	}
	return hash
}
