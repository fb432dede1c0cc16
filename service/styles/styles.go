// Package styles has the use cases of styles: a shop's own garments as
// scripts. It uploads, proves, publishes and retires their revisions, and finds
// the script that an order is drafted with.
package styles

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/drafting/proof"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/cache"
	"tapeline/service/work"
)

// Config has what a Service needs besides its store.
type Config struct {
	Log     *slog.Logger
	Version string // of the program, stored with every proof as its engine
	Clock   service.Clock
	Cores   *work.Cores
	Jobs    *work.Jobs
}

// Service has the use cases of styles.
type Service struct {
	store    *db.Store
	cfg      Config
	scripts  cache.Cache[*style.Style]
	panels   cache.Cache[[]proof.Body]
	findings cache.Cache[[]Warning]
	drafts   *work.AtOnce
	trials   *work.AtOnce
	pictures keptPictures
}

// New returns the use cases on a store, and registers the job that proves
// revisions.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, cfg: cfg, scripts: cache.New(cacheBytes, (*style.Style).Memory),
		panels: cache.New(panelBytes, weighPanel), findings: cache.New(findingsBytes, weighFindings),
		drafts: work.NewAtOnce("uploads and pictures of styles", 8),
		trials: work.NewAtOnce("trials of scripts", 4)}
	work.Handle(cfg.Jobs, s.workOnProof)
	work.Handle(cfg.Jobs, s.workOnWorn)
	return s
}

// The parts of a style that are published, as package style defines them.
type (
	Warning           = style.Finding
	Description       = style.Description
	FitDescription    = style.FitDescription
	ChoiceDescription = style.ChoiceDescription
	Unit              = body.Unit
	Measurement       = body.Name
)

// Origin says where a style comes from.
type Origin string

const (
	BuiltIn Origin = "built_in" // with the program, for every shop
	Own     Origin = "own"      // of the shop
)

// Listing is one style that a shop has.
type Listing struct {
	Slug, Title, About, Block string
	Hash                      string // of the published script, or of the latest
	Origin                    Origin
	Status                    Status // of that script
	Revision                  int    // of that script; 0 for a built-in style
	Revisions                 int    // of the shop's own style
}

// Revision is one version of a shop's own style.
type Revision struct {
	StyleID     uuid.UUID
	Slug        string
	Number      int
	Hash        string // SHA-256 of the script, hexadecimal
	Status      Status
	Reason      string // for the upload, as its caller gave it
	Warnings    []Warning
	ProofID     *uuid.UUID // the proof that proved it
	CreatedBy   *uuid.UUID
	CreatedAt   time.Time
	PublishedAt *time.Time
	RetiredAt   *time.Time
}

// Detail describes a style or one of its revisions.
type Detail struct {
	Origin      Origin
	Revision    *Revision // the one described; nil for a built-in style
	Description Description
	Revisions   []Revision // of the shop's own style, newest first
}

// List returns the shop's own styles, then the built-in ones, each by slug.
func (s *Service) List(ctx context.Context, caller service.Caller) ([]Listing, error) {
	rows, err := s.store.ShopStyles(ctx, caller.Owner())
	if err != nil {
		return nil, err
	}
	var list []Listing
	own := map[string]bool{}
	for _, row := range rows {
		r := row.ShopStyleRevision
		own[r.Slug] = true
		if caller.PublishedOnly() && Status(r.Status) != Published {
			continue
		}
		var head Description
		if err := json.Unmarshal(r.Head, &head); err != nil {
			return nil, fmt.Errorf("head of style %s: %w", r.Slug, err)
		}
		list = append(list, Listing{Slug: r.Slug, Title: head.Title, About: head.About, Block: head.Block,
			Hash: hex.EncodeToString(r.Hash), Origin: Own, Status: Status(r.Status),
			Revision: r.Number, Revisions: row.Revisions})
	}
	builtins, err := style.Builtins()
	for _, b := range builtins {
		if !own[b.Head.Slug] {
			list = append(list, Listing{Slug: b.Head.Slug, Title: b.Head.Title, About: b.Head.About, Block: b.Head.Block,
				Hash: b.Hash, Origin: BuiltIn, Status: Published})
		}
	}
	return list, err
}

// Style describes the published revision of a style, or the latest if none is
// published, with lengths in the unit.
func (s *Service) Style(ctx context.Context, caller service.Caller, slug string, unit Unit) (Detail, error) {
	rows, err := s.store.StyleRevisions(ctx, query.StyleRevisionsParams{ShopID: caller.Owner(), Slug: slug})
	if err != nil {
		return Detail{}, err
	}
	if len(rows) == 0 {
		b, ok := style.Builtin(slug)
		if !ok {
			return Detail{}, service.NotFound("style")
		}
		return Detail{Origin: BuiltIn, Description: b.Describe(unit)}, nil
	}
	d := Detail{Origin: Own}
	shown := -1
	for i, row := range rows {
		r, err := toRevision(row)
		if err != nil {
			return Detail{}, err
		}
		d.Revisions = append(d.Revisions, r)
		if shown < 0 && r.Status == Published {
			shown = i
		}
	}
	if caller.PublishedOnly() {
		if shown < 0 {
			return Detail{}, service.NotFound("style")
		}
		d.Revisions = nil // how the style came to be is the shop's own matter
		published := Revision{Number: rows[shown].Number}
		d.Revision = &published
	} else {
		shown = max(shown, 0)
		d.Revision = &d.Revisions[shown]
	}
	d.Description, err = s.describe(ctx, rows[shown], unit)
	return d, err
}

// Revision describes one revision of a shop's own style, with lengths in the
// unit.
func (s *Service) Revision(
	ctx context.Context, caller service.Caller, slug string, number int, unit Unit,
) (Detail, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Owner(), Slug: slug, Number: number})
	if err != nil {
		return Detail{}, service.OrNotFound(err, "style revision")
	}
	r, err := toRevision(row)
	if err != nil {
		return Detail{}, err
	}
	description, err := s.describe(ctx, row, unit)
	return Detail{Origin: Own, Revision: &r, Description: description}, err
}

// describe returns the description of a revision. If this version of the
// program does not accept the script, it is the description stored at the
// upload, in mm.
func (s *Service) describe(ctx context.Context, row query.ShopStyleRevision, unit Unit) (Description, error) {
	garment, err := s.Compile(ctx, s.store.Queries, row.Slug, hex.EncodeToString(row.Hash))
	if _, ok := errors.AsType[*ScriptError](err); ok {
		var head Description
		return head, json.Unmarshal(row.Head, &head)
	}
	if err != nil {
		return Description{}, err
	}
	return garment.Describe(unit), nil
}

func toRevision(row query.ShopStyleRevision) (Revision, error) {
	r := Revision{StyleID: row.StyleID, Slug: row.Slug, Number: row.Number, Hash: hex.EncodeToString(row.Hash),
		Status: Status(row.Status), ProofID: row.ProofID, CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
		PublishedAt: row.PublishedAt, RetiredAt: row.RetiredAt}
	if row.Reason != nil {
		r.Reason = *row.Reason
	}
	if err := json.Unmarshal(row.Warnings, &r.Warnings); err != nil {
		return Revision{}, fmt.Errorf("warnings of style %s: %w", row.Slug, err)
	}
	return r, nil
}

// Form returns the JSON Schema of an order for a revision, or with number 0 for the
// published one or the built-in style, with lengths in unit. It fails with
// CodeNotFound, and with CodeInvalidInput if this version of the program does not
// accept the script.
func (s *Service) Form(
	ctx context.Context, caller service.Caller, slug string, number int, unit Unit,
) (map[string]any, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Owner(), Slug: slug, Number: number})
	if b, ok := style.Builtin(slug); ok && number == 0 && errors.Is(err, db.ErrNotFound) {
		return b.Form(unit), nil
	}
	if err == nil && caller.PublishedOnly() && Status(row.Status) != Published {
		err = db.ErrNotFound
	}
	if err != nil {
		return nil, service.OrNotFound(err, "style revision")
	}
	garment, err := s.Compile(ctx, s.store.Queries, row.Slug, hex.EncodeToString(row.Hash))
	if e, ok := errors.AsType[*ScriptError](err); ok {
		return nil, service.Invalid(e.Faults)
	}
	if err != nil {
		return nil, err
	}
	return garment.Form(unit), nil
}

// Script returns the script of a revision, or with number 0 that of the
// published revision or the built-in style.
func (s *Service) Script(ctx context.Context, caller service.Caller, slug string, number int) (string, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Owner(), Slug: slug, Number: number})
	if err == nil {
		return s.store.Script(ctx, row.Hash)
	}
	if b, ok := style.Builtin(slug); ok && number == 0 && errors.Is(err, db.ErrNotFound) {
		return b.Source(), nil
	}
	return "", service.OrNotFound(err, "style revision")
}

// Publish opens a proved revision to orders. It fails with CodeNotProved and the
// reason if no proof shows that it can be drafted, and with CodeFaultsUnconfirmed if
// drafts of its proof have faults and faulty is not their number. Publishing a
// published revision changes nothing.
func (s *Service) Publish(
	ctx context.Context, caller service.Caller, slug string, number, faulty int,
) (Revision, error) {
	publish := func(tx *db.Tx, r *Revision, a *access.Action) (bool, error) {
		switch r.Status {
		case Draft:
			latest, err := s.latestProof(ctx, tx.Queries, *r)
			if err != nil {
				return false, err
			}
			return false, service.Refuse(service.CodeNotProved, "%s", notProvedReason(latest))
		case Proved:
			row, err := tx.Proof(ctx, query.ProofParams{ShopID: caller.Owner(), ID: *r.ProofID})
			if err != nil {
				return false, fmt.Errorf("read the proof of style %s: %w", slug, err)
			}
			p, err := s.toProof(row)
			if err != nil {
				return false, err
			}
			if err := (result{Report: *p.Report}).unconfirmed(faulty); err != nil {
				return false, err
			}
			a.Detail = map[string]any{"faulty": p.Report.Faulty}
		}
		return r.publish(a.At)
	}
	return s.change(ctx, caller, slug, number, "style.published", publish)
}

// Retire closes a revision to new orders. Orders drafted with it keep it.
func (s *Service) Retire(ctx context.Context, caller service.Caller, slug string, number int) (Revision, error) {
	retire := func(_ *db.Tx, r *Revision, a *access.Action) (bool, error) {
		return r.retire(a.At), nil
	}
	return s.change(ctx, caller, slug, number, "style.retired", retire)
}

// change locks a revision, lets decide change its state, and stores the change
// with its audit entry, to which decide may add details.
func (s *Service) change(ctx context.Context, caller service.Caller, slug string, number int, action string,
	decide func(*db.Tx, *Revision, *access.Action) (bool, error),
) (r Revision, err error) {
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		if r, err = lockRevision(ctx, tx, caller.Owner(), slug, number); err != nil {
			return service.OrNotFound(err, "style revision")
		}
		a, from := access.Action{Name: action, At: s.cfg.Clock.Now()}, r.Status
		changed, err := decide(tx, &r, &a)
		if err != nil || !changed {
			return err
		}
		return storeStatus(ctx, tx, caller, from, r, a)
	})
	return r, err
}

func lockRevision(ctx context.Context, tx *db.Tx, shop uuid.UUID, slug string, number int) (Revision, error) {
	lock := query.LockStyleRevisionParams{ShopID: shop, Slug: slug, Number: number}
	if _, err := tx.LockStyleRevision(ctx, lock); err != nil {
		return Revision{}, err
	}
	row, err := tx.StyleRevision(ctx, query.StyleRevisionParams{ShopID: shop, Slug: slug, Number: number})
	if err != nil {
		return Revision{}, err
	}
	return toRevision(row)
}

// storeStatus stores the state of a revision that was in a state before, and
// records the action on it.
func storeStatus(
	ctx context.Context, tx *db.Tx, caller service.Caller, from Status, r Revision, a access.Action,
) error {
	_, err := tx.SetStyleStatus(ctx, query.SetStyleStatusParams{StyleID: r.StyleID, Number: r.Number,
		FromStatus: string(from), Status: string(r.Status),
		ProofID: r.ProofID, PublishedAt: r.PublishedAt, RetiredAt: r.RetiredAt})
	if err != nil {
		return err
	}
	a.Subject = r.StyleID
	if a.Detail == nil {
		a.Detail = map[string]any{}
	}
	a.Detail["slug"], a.Detail["revision"] = r.Slug, r.Number
	return access.Record(ctx, tx, caller, a)
}
