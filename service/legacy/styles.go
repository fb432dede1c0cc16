package legacy

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"tapeline/db"
	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

// Where a style revision stands.
const (
	styleStateDraft     = "draft"     // can be tried out, takes no order
	styleStateProved    = "proved"    // drafted on many bodies without a failure
	styleStatePublished = "published" // takes orders
	styleStateRetired   = "retired"   // takes no new orders; those that have it keep it
)

// Where a style comes from.
const (
	OriginBuiltIn = "built_in" // with the program, for every shop
	OriginOwn     = "own"      // of the shop
)

// StyleListing is one style that a shop has.
type StyleListing struct {
	Slug, Title, About, Block string
	Hash                      string // of the script that an order would get, or of the latest
	Origin                    string
	State                     string // of that script
	Revision                  int    // that it is of the shop's own style; 0 of a built-in one
	Revisions                 int    // how many there are of the shop's own
}

// Styles lists what a shop can order: its own styles, then the built-in ones,
// each by slug.
func (s *Service) Styles(ctx context.Context, caller Caller) ([]StyleListing, error) {
	rows, err := s.store.ShopStyles(ctx, caller.Shop)
	if err != nil {
		return nil, err
	}
	var list []StyleListing
	own := map[string]bool{}
	for _, row := range rows {
		var head style.Description
		if err := json.Unmarshal(row.Head, &head); err != nil {
			return nil, fmt.Errorf("head of style %s: %w", row.Slug, err)
		}
		own[row.Slug] = true
		list = append(list, StyleListing{Slug: row.Slug, Title: head.Title, About: head.About, Block: head.Block, Hash: hex.EncodeToString(row.Hash),
			Origin: OriginOwn, State: row.State, Revision: row.Number, Revisions: row.Revisions})
	}
	builtins, err := style.Builtins()
	for _, b := range builtins {
		if !own[b.Head.Slug] {
			list = append(list, StyleListing{Slug: b.Head.Slug, Title: b.Head.Title, About: b.Head.About, Block: b.Head.Block, Hash: b.Hash,
				Origin: OriginBuiltIn, State: styleStatePublished})
		}
	}
	return list, err
}

// StyleRevision is one version of a shop's own style.
type StyleRevision struct {
	db.StyleRevision
	Findings []style.Warning // what was found in the script when it came
}

// StyleDetail is a style with what a shop's form needs.
type StyleDetail struct {
	Origin      string
	Revision    *StyleRevision // that Description is of; nil of a built-in style
	Description style.Description
	Revisions   []StyleRevision // of the shop's own style, newest first
}

// Style reads a style as an order would get it, or one that takes no order yet
// as it last came, with lengths in the unit.
func (s *Service) Style(ctx context.Context, caller Caller, slug string, unit body.Unit) (StyleDetail, error) {
	rows, err := s.store.StyleRevisions(ctx, caller.Shop, slug)
	if err != nil {
		return StyleDetail{}, err
	}
	if len(rows) == 0 {
		b, ok := style.Builtin(slug)
		if !ok {
			return StyleDetail{}, notFound("style")
		}
		return StyleDetail{Origin: OriginBuiltIn, Description: b.Describe(unit)}, nil
	}
	d := StyleDetail{Origin: OriginOwn}
	shown := rows[0]
	for i := len(rows) - 1; i >= 0; i-- {
		if rows[i].State == styleStatePublished {
			shown = rows[i]
		}
	}
	for _, row := range rows {
		r, err := styleRevision(row)
		if err != nil {
			return StyleDetail{}, err
		}
		d.Revisions = append(d.Revisions, r)
	}
	d.Revision, d.Description, err = s.describe(ctx, shown, unit)
	return d, err
}

// StyleRevision reads one revision of a shop's own style, with lengths in the
// unit.
func (s *Service) StyleRevision(ctx context.Context, caller Caller, slug string, number int, unit body.Unit) (StyleDetail, error) {
	row, err := s.store.StyleRevision(ctx, caller.Shop, slug, number)
	if err != nil {
		return StyleDetail{}, orNotFound(err, "style revision")
	}
	d := StyleDetail{Origin: OriginOwn}
	d.Revision, d.Description, err = s.describe(ctx, row, unit)
	return d, err
}

// describe says what a revision offers. A script that this version of the
// program can't read is described as when it came, in mm.
func (s *Service) describe(ctx context.Context, row db.StyleRevision, unit body.Unit) (*StyleRevision, style.Description, error) {
	r, err := styleRevision(row)
	if err != nil {
		return nil, style.Description{}, err
	}
	garment, err := s.garment(ctx, s.store.Queries, Spec{Style: row.Slug, StyleHash: hex.EncodeToString(row.Hash)})
	if _, unreadable := errors.AsType[*undrafted](err); unreadable {
		var head style.Description
		return &r, head, json.Unmarshal(row.Head, &head)
	}
	if err != nil {
		return nil, style.Description{}, err
	}
	return &r, garment.Describe(unit), nil
}

func styleRevision(row db.StyleRevision) (StyleRevision, error) {
	r := StyleRevision{StyleRevision: row}
	if err := json.Unmarshal(row.Lint, &r.Findings); err != nil {
		return StyleRevision{}, fmt.Errorf("lint of style %s: %w", row.Slug, err)
	}
	return r, nil
}

// StyleScript is the script of a revision, or with number 0 of the style as an
// order would get it.
func (s *Service) StyleScript(ctx context.Context, caller Caller, slug string, number int) (string, error) {
	row, err := s.store.StyleRevision(ctx, caller.Shop, slug, number)
	if err == nil {
		return s.store.Script(ctx, row.Hash)
	}
	if b, ok := style.Builtin(slug); ok && number == 0 && errors.Is(err, db.ErrNotFound) {
		return b.Source(), nil
	}
	return "", orNotFound(err, "style revision")
}

// PublishStyle opens a proved revision to orders. It fails with CodeNotProved,
// and says why, where nothing shows that it can be drafted; a published one
// stays as it is.
func (s *Service) PublishStyle(ctx context.Context, caller Caller, slug string, number int) (StyleRevision, error) {
	return s.changeStyle(ctx, caller, slug, number, "style.published", func(tx *db.Tx, r *db.StyleRevision, now time.Time) (bool, error) {
		switch r.State {
		case styleStatePublished:
			return false, nil
		case styleStateRetired:
			return false, refuse(CodeWrongState, "a retired revision cannot be published; upload its script again")
		case styleStateDraft:
			why, err := s.whyNotProved(ctx, tx, *r)
			if err != nil {
				return false, err
			}
			return false, refuse(CodeNotProved, "%s", why)
		}
		r.State, r.PublishedAt = styleStatePublished, &now
		return true, nil
	})
}

// RetireStyle takes a revision out of the offer. Orders that have it keep it.
func (s *Service) RetireStyle(ctx context.Context, caller Caller, slug string, number int) (StyleRevision, error) {
	return s.changeStyle(ctx, caller, slug, number, "style.retired", func(_ *db.Tx, r *db.StyleRevision, now time.Time) (bool, error) {
		if r.State == styleStateRetired {
			return false, nil
		}
		r.State, r.RetiredAt = styleStateRetired, &now
		return true, nil
	})
}

// changeStyle locks a revision, lets decide change where it stands, and writes
// that with the audit entry.
func (s *Service) changeStyle(ctx context.Context, caller Caller, slug string, number int, action string, decide func(*db.Tx, *db.StyleRevision, time.Time) (bool, error)) (changed StyleRevision, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		row, err := tx.StyleRevisionForUpdate(ctx, caller.Shop, slug, number)
		if err != nil {
			return orNotFound(err, "style revision")
		}
		changes, err := decide(tx, &row, s.now())
		if err != nil {
			return err
		}
		if changes {
			if err := tx.SetStyleState(ctx, row); err != nil {
				return err
			}
			if err := audit(ctx, tx, caller, s.now(), action, row.StyleID, map[string]any{"slug": slug, "revision": number}); err != nil {
				return err
			}
		}
		changed, err = styleRevision(row)
		return err
	})
	return changed, err
}
