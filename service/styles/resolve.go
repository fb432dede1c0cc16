package styles

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service"
)

// Ref names a style as an order does. Revision 0 is the published revision of a
// shop's own style, or a built-in style.
type Ref struct {
	Slug     string
	Revision int
}

// Resolved is the script that a Ref stands for.
type Resolved struct {
	Revision int // 0 for a built-in style
	Garment  *style.Style
}

// Pin resolves a reference to a published revision or a built-in style, and
// stores the script, so that an order can be drafted with it whatever happens
// to the style. It fails with CodeInvalidInput if there is none.
func (s *Service) Pin(
	ctx context.Context, q db.Queries, caller service.Caller, ref Ref, at time.Time,
) (Resolved, error) {
	r, err := s.resolve(ctx, q, caller.Owner(), ref, true)
	if err != nil {
		return Resolved{}, err
	}
	hash := decodeHash(r.Garment.Hash)
	stored, err := q.UseScript(ctx, query.UseScriptParams{Hash: hash, At: at})
	if err == nil && !stored {
		err = q.InsertScript(ctx, query.InsertScriptParams{Hash: hash, Script: r.Garment.Source(), At: at})
	}
	return r, err
}

// Resolve resolves a reference to a revision in any state, or a published one if the
// caller sees no other, or a built-in style. A shop's own style comes before a
// built-in one with the same slug. It fails with CodeInvalidInput if there is none.
func (s *Service) Resolve(ctx context.Context, q db.Queries, caller service.Caller, ref Ref) (Resolved, error) {
	return s.resolve(ctx, q, caller.Owner(), ref, caller.PublishedOnly())
}

func (s *Service) resolve(
	ctx context.Context, q db.Queries, shop uuid.UUID, ref Ref, published bool,
) (Resolved, error) {
	row, err := q.StyleRevision(ctx, query.StyleRevisionParams{ShopID: shop, Slug: ref.Slug, Number: ref.Revision})
	if errors.Is(err, db.ErrNotFound) {
		return s.resolveBuiltin(ctx, q, shop, ref)
	}
	if err != nil {
		return Resolved{}, err
	}
	if published && Status(row.Status) != Published {
		return Resolved{}, refuseRef("/style_revision", "a published revision; this one is "+row.Status)
	}
	garment, err := s.Compile(ctx, q, row.Slug, hex.EncodeToString(row.Hash))
	if e, ok := errors.AsType[*ScriptError](err); ok {
		return Resolved{}, service.Invalid(e.Faults)
	}
	return Resolved{row.Number, garment}, err
}

// resolveBuiltin resolves a reference that no revision of the shop matches.
func (s *Service) resolveBuiltin(ctx context.Context, q db.Queries, shop uuid.UUID, ref Ref) (Resolved, error) {
	revisions, err := q.CountStyleRevisions(ctx, query.CountStyleRevisionsParams{ShopID: shop, Slug: ref.Slug})
	switch {
	case err != nil:
		return Resolved{}, err
	case revisions > 0 && ref.Revision > 0:
		return Resolved{}, refuseRef("/style_revision", fmt.Sprintf("one of the style's %d revisions", revisions))
	case revisions > 0:
		return Resolved{}, refuseRef("/style", "a style with a published revision")
	}
	garment, ok := style.Builtin(ref.Slug)
	if !ok {
		slugs, err := q.StyleSlugs(ctx, shop)
		if err != nil {
			return Resolved{}, err
		}
		builtins, _ := style.Builtins()
		for _, b := range builtins {
			slugs = append(slugs, b.Head.Slug)
		}
		return Resolved{}, service.Invalid(fault.List{fault.UnknownName("/style", ref.Slug, "style", slugs)})
	}
	if ref.Revision > 0 {
		return Resolved{}, refuseRef("/style_revision", "none: a built-in style has no revisions")
	}
	return Resolved{0, garment}, nil
}

func refuseRef(field, accepted string) error {
	return service.Invalid(fault.List{{Code: fault.Choice, Field: field, Accepted: accepted}})
}

// Compile returns the style with a slug and the hash of a stored script. The
// error is a *ScriptError if this version of the program does not accept the
// script, although an earlier one did.
func (s *Service) Compile(ctx context.Context, q db.Queries, slug, hash string) (*style.Style, error) {
	if b, ok := style.Builtin(slug); ok && b.Hash == hash {
		return b, nil
	}
	if cached, ok := s.scripts.GetIfPresent(hash); ok {
		return cached, nil
	}
	script, err := q.Script(ctx, decodeHash(hash))
	if err != nil {
		return nil, fmt.Errorf("script %s: %w", hash, err)
	}
	compiled, err := s.compile(script)
	if e, ok := errors.AsType[*style.Error](err); ok {
		return nil, &ScriptError{ScriptFaults(e)}
	}
	return compiled, err
}

// A ScriptError reports a stored script that the program does not accept.
type ScriptError struct{ Faults service.Faults }

func (e *ScriptError) Error() string { return e.Faults.Error() }

// ScriptFaults returns the fault of a script with its position: the line, and
// the piece and edge concerned.
func ScriptFaults(e *style.Error) service.Faults {
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
	reason := e.Reason
	if len(at) > 0 {
		reason = strings.Join(at, ", ") + ": " + reason
	}
	f := fault.Fault{Code: fault.Script, Field: "/style", Accepted: reason, Line: e.Line}
	if e.Style != "" {
		f.Value = fault.Shorten(e.Style)
	}
	return fault.List{f}
}
