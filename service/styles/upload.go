package styles

import (
	"context"
	"encoding/hex"
	"errors"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/work"
)

// MaxScript is the maximum size of a script in bytes.
const MaxScript = 128 << 10

// Limits of a shop.
const (
	maxStyles    = 200
	maxRevisions = 500 // of one style
)

// NewRevision is a script to store.
type NewRevision struct {
	Script, Reason string
	Base           *Base // nil: the latest revision, whichever that is
}

// Base is the revision that a script was made from: 0 for none. A script that names
// another slug begins a style.
type Base struct {
	Slug   string // "" is the one that the script names
	Number int
}

// missed returns the refusal of a revision that is not the next after the base.
func (b *Base) missed(r Revision) error {
	if b == nil {
		return nil
	}
	base := 0
	if b.Slug == "" || b.Slug == r.Slug {
		base = b.Number
	}
	switch {
	case r.Number == base+1:
		return nil
	case base == 0:
		return service.Refuse(service.CodeWrongState,
			"the shop has a style %s already: give this one another slug, or write on from revision %d of that",
			r.Slug, r.Number-1)
	}
	return service.Refuse(service.CodeWrongState,
		"revision %d was saved meanwhile, and this script was made from revision %d", r.Number-1, base)
}

// Upload stores a script as the next revision, a draft, of the style that its
// head names. It fails with CodeWrongState if that is not the next after its base. A
// script that does not compile fails with CodeInvalidInput and its line. Probable mistakes are among the warnings.
func (s *Service) Upload(ctx context.Context, caller service.Caller, n NewRevision) (Detail, error) {
	if faults := service.CheckReason(n.Reason); len(faults) > 0 {
		return Detail{}, service.Invalid(faults)
	}
	leave, err := s.drafts.Enter(caller.Owner())
	if err != nil {
		return Detail{}, err
	}
	defer leave()
	var compiled *style.Style
	var warnings []Warning
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) (err error) {
		if compiled, err = s.compile(n.Script); err == nil {
			warnings, err = s.findingsOf(ctx, compiled, s.panel(compiled))
		}
		return err
	})
	if e, ok := errors.AsType[*style.Error](err); ok {
		faults := ScriptFaults(e)
		faults[0].Field = "/script"
		return Detail{}, service.Invalid(faults)
	}
	if err != nil {
		return Detail{}, err
	}
	slug := compiled.Head.Slug
	if _, exists := style.Builtin(slug); exists {
		return Detail{}, service.Invalid(fault.List{{Code: fault.Choice, Field: "/script", Value: fault.Shorten(slug),
			Accepted: "a slug that no built-in style has", Line: compiled.LineOf(slug)}})
	}
	r := Revision{Slug: slug, Hash: compiled.Hash, Status: Draft, Reason: n.Reason, Warnings: warnings,
		CreatedBy: caller.Actor(), CreatedAt: s.cfg.Clock.Now()}
	if err := s.storeRevision(ctx, caller, &r, compiled, n.Base); err != nil {
		return Detail{}, err
	}
	return Detail{Origin: Own, Revision: &r, Description: compiled.Describe(body.Centimetre)}, nil
}

// storeRevision stores a new revision with its script, and sets its style and
// number.
func (s *Service) storeRevision(
	ctx context.Context, caller service.Caller, r *Revision, compiled *style.Style, base *Base,
) error {
	row := query.InsertStyleRevisionParams{StyleID: s.cfg.Clock.NewID(), ShopID: caller.Owner(), Slug: r.Slug,
		Hash: decodeHash(r.Hash), Head: db.JSON(compiled.Describe(body.Millimetre)), Warnings: db.JSON(r.Warnings),
		CreatedBy: r.CreatedBy, CreatedAt: r.CreatedAt}
	if r.Reason != "" {
		row.Reason = &r.Reason
	}
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := checkLimits(ctx, tx, caller.Owner(), r.Slug); err != nil {
			return err
		}
		script := query.InsertScriptParams{Hash: row.Hash, Script: compiled.Source(), At: r.CreatedAt}
		if err := tx.InsertScript(ctx, script); err != nil {
			return err
		}
		stored, err := tx.InsertStyleRevision(ctx, row)
		if err != nil {
			return err
		}
		r.StyleID, r.Number = stored.StyleID, stored.Number
		if err := base.missed(*r); err != nil {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "style.uploaded", Subject: r.StyleID, At: r.CreatedAt,
			Detail: map[string]any{"slug": r.Slug, "revision": r.Number}})
	})
}

// checkLimits refuses another revision if the style or the shop has as many as
// are allowed.
func checkLimits(ctx context.Context, tx *db.Tx, shop uuid.UUID, slug string) error {
	revisions, err := tx.CountStyleRevisions(ctx, query.CountStyleRevisionsParams{ShopID: shop, Slug: slug})
	switch {
	case err != nil:
		return err
	case revisions >= maxRevisions:
		return service.Refuse(service.CodeLimitReached, "a style has at most %d revisions", maxRevisions)
	case revisions > 0:
		return nil
	}
	slugs, err := tx.StyleSlugs(ctx, shop)
	if err == nil && len(slugs) >= maxStyles {
		err = service.Refuse(service.CodeLimitReached, "a shop has at most %d styles of its own", maxStyles)
	}
	return err
}

// decodeHash decodes a hash that the program wrote.
func decodeHash(text string) []byte {
	hash, err := hex.DecodeString(text)
	if err != nil {
		panic("not a hash: " + text)
	}
	return hash
}
