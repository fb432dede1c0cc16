package styles

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/drafting/finish"
	"tapeline/drafting/proof"
	"tapeline/drafting/render"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/work"
)

// Bodies says on which bodies a style is proved.
type Bodies string

const (
	Panel     Bodies = "panel"     // built in, spanning the size table
	File      Bodies = "file"      // sent with the request
	Customers Bodies = "customers" // the shop's own, each by their latest measurements
)

// Limits of proofs.
const (
	maxOpenProofs  = 3 // of a shop, waiting or running
	maxProofDrafts = 300_000
	maxCustomers   = 5000
	maxProofsShown = 100
)

// The report of a proof, as package proof defines it.
type (
	Report        = proof.Report
	VariantReport = proof.VariantReport
	ReasonReport  = proof.ReasonReport
	CheckReport   = proof.CheckReport
	SpreadReport  = proof.SpreadReport
	ExtremeReport = proof.ExtremeReport
	Counts        = proof.Counts
	DraftName     = proof.Where
)

// Proof is a proof of a style revision.
type Proof struct {
	ID         uuid.UUID
	StyleID    uuid.UUID
	Slug       string
	Number     int // of the revision
	Bodies     Bodies
	Status     ProofStatus
	Done       int // drafts made
	Total      int
	Rate       float64     // drafts a second so far
	Worn       *Worn       // how its drafts are tried on; nil: they are not
	Report     *Report     // nil unless done, and if they are tried on
	WornReport *WornReport // nil unless done, and if they are not
	Stopped    string      // why it ended before its last draft
	Engine     string      // version of the program that made the drafts, when done
	CreatedBy  *uuid.UUID
	CreatedAt  time.Time
	StartedAt  *time.Time
	FinishedAt *time.Time
}

func (s *Service) toProof(row query.ShopStyleProof) (Proof, error) {
	p := Proof{ID: row.ID, StyleID: row.StyleID, Slug: row.Slug, Number: row.Number, Bodies: Bodies(row.Bodies),
		Status: ProofStatus(row.Status), Done: row.Done, Total: row.Total, CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
		StartedAt: row.StartedAt, FinishedAt: row.FinishedAt,
		Rate: rate(row.Done, row.StartedAt, row.FinishedAt, s.cfg.Clock.Now())}
	if row.Worn != nil {
		return p, p.decodeWorn(row)
	}
	if row.Result == nil {
		return p, nil
	}
	var r result
	if err := json.Unmarshal(row.Result, &r); err != nil {
		return Proof{}, fmt.Errorf("result of proof %s: %w", row.ID, err)
	}
	p.Report, p.Stopped, p.Engine = &r.Report, r.Stopped, r.Engine
	return p, nil
}

// decodeWorn reads what a stored proof has of its drafts as worn.
func (p *Proof) decodeWorn(row query.ShopStyleProof) error {
	err := json.Unmarshal(row.Worn, &p.Worn)
	if err == nil && row.Result != nil {
		var r wornResult
		err = json.Unmarshal(row.Result, &r)
		p.WornReport, p.Stopped, p.Engine = &r.WornReport, r.Stopped, r.Engine
	}
	if err != nil {
		return fmt.Errorf("result of proof %s: %w", row.ID, err)
	}
	return nil
}

// ProofRequest says on which bodies to prove a revision.
type ProofRequest struct {
	Bodies Bodies
	CSV    string // if Bodies is File; see proof.ReadCSV
	Worn   *Worn  // try the drafts on; nil: draft only
}

// StartProof starts a job that drafts a revision to many bodies, in every fit
// and at the ends of every choice; or that tries each fit on some of them, which
// proves nothing.
func (s *Service) StartProof(
	ctx context.Context, caller service.Caller, slug string, number int, r ProofRequest,
) (Proof, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Owner(), Slug: slug, Number: number})
	if err != nil {
		return Proof{}, service.OrNotFound(err, "style revision")
	}
	if Status(row.Status) == Retired {
		return Proof{}, service.Refuse(service.CodeWrongState, "a retired revision is not proved")
	}
	if r.Worn != nil {
		w := r.Worn.withDefaults()
		r.Worn = &w
		if err := w.check(r.Bodies); err != nil {
			return Proof{}, err
		}
	}
	variants, garment, err := s.variants(ctx, row, r.Worn != nil)
	if err != nil {
		return Proof{}, err
	}
	bodies, count, err := s.requestedBodies(ctx, caller, r, garment)
	if err != nil {
		return Proof{}, err
	}
	if r.Worn != nil {
		count = min(count, r.Worn.Sample)
	}
	total := count * len(variants)
	if total > maxProofDrafts {
		return Proof{}, service.Invalid(fault.List{{Code: fault.Size, Field: "/bodies", Value: fmt.Sprint(count),
			Accepted: fmt.Sprintf("at most %d bodies: the style is drafted in %d variants, and a proof makes at most %d drafts",
				maxProofDrafts/len(variants), len(variants), maxProofDrafts)}})
	}
	p := query.InsertProofParams{ID: s.cfg.Clock.NewID(), ShopID: caller.Owner(), StyleID: row.StyleID, Number: row.Number,
		Bodies: string(r.Bodies), BodyRows: bodies, Total: total, CreatedBy: caller.Actor(), CreatedAt: s.cfg.Clock.Now()}
	if r.Worn != nil {
		p.Worn = db.JSON(r.Worn)
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.LockShop(ctx, caller.Owner()); err != nil {
			return err
		}
		open, err := tx.CountOpenProofs(ctx, caller.Owner())
		if err != nil {
			return err
		}
		if open >= maxOpenProofs {
			return service.Refuse(service.CodeLimitReached,
				"%d proofs of this shop are waiting or running; wait for one, or cancel it", open)
		}
		if err := tx.InsertProof(ctx, p); err != nil {
			return err
		}
		err = access.Record(ctx, tx, caller, access.Action{Name: "style_proof.started", Subject: p.ID, At: p.CreatedAt,
			Detail: map[string]any{"slug": slug, "revision": number, "bodies": r.Bodies, "worn": r.Worn != nil}})
		if err != nil {
			return err
		}
		return s.cfg.Jobs.Enqueue(ctx, tx, newProofJob(p.ID, r.Worn != nil))
	})
	return Proof{ID: p.ID, StyleID: p.StyleID, Slug: slug, Number: number, Bodies: r.Bodies, Status: ProofWaiting,
		Worn: r.Worn, Total: total, CreatedBy: p.CreatedBy, CreatedAt: p.CreatedAt}, err
}

// Proof returns a proof of the shop.
func (s *Service) Proof(ctx context.Context, caller service.Caller, id uuid.UUID) (Proof, error) {
	row, err := s.store.Proof(ctx, query.ProofParams{ShopID: caller.Owner(), ID: id})
	if err != nil {
		return Proof{}, service.OrNotFound(err, "proof")
	}
	return s.toProof(row)
}

// Proofs returns the latest proofs of a revision, newest first.
func (s *Service) Proofs(ctx context.Context, caller service.Caller, slug string, number int) ([]Proof, error) {
	row, err := s.store.StyleRevision(ctx, query.StyleRevisionParams{ShopID: caller.Owner(), Slug: slug, Number: number})
	if err != nil {
		return nil, service.OrNotFound(err, "style revision")
	}
	rows, err := s.store.Proofs(ctx, query.ProofsParams{StyleID: row.StyleID, Number: number, Limit: maxProofsShown})
	proofs := make([]Proof, len(rows))
	for i, row := range rows {
		if proofs[i], err = s.toProof(row); err != nil {
			return nil, err
		}
	}
	return proofs, err
}

// latestProof returns the latest proof of a revision whose drafts are not tried on, nil
// if it has none.
func (s *Service) latestProof(ctx context.Context, q db.Queries, r Revision) (*Proof, error) {
	row, err := q.LatestProof(ctx, query.LatestProofParams{StyleID: r.StyleID, Number: r.Number})
	if errors.Is(err, db.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	p, err := s.toProof(row)
	return &p, err
}

// CancelProof cancels a proof. Cancelling a finished proof changes nothing.
func (s *Service) CancelProof(ctx context.Context, caller service.Caller, id uuid.UUID) (Proof, error) {
	now := s.cfg.Clock.Now()
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.Proof(ctx, query.ProofParams{ShopID: caller.Owner(), ID: id}); err != nil {
			return service.OrNotFound(err, "proof")
		}
		n, err := tx.FinishProof(ctx, query.FinishProofParams{ID: id, Status: string(ProofCancelled), At: now})
		if err != nil || n == 0 {
			return err
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "style_proof.cancelled", Subject: id, At: now})
	})
	if err != nil {
		return Proof{}, err
	}
	return s.Proof(ctx, caller, id)
}

// Picture is a file for screens.
type Picture struct {
	MediaType string
	Content   []byte
}

// Extreme selects a draft of a proof.
type Extreme string

const (
	MinCloth Extreme = "min_cloth"
	MaxCloth Extreme = "max_cloth"
)

// ProofPicture draws the draft of a proof that took the least or the most cloth,
// as SVG. Only proofs on the built-in panel have pictures: other bodies are not
// stored.
func (s *Service) ProofPicture(ctx context.Context, caller service.Caller, id uuid.UUID, of Extreme) (Picture, error) {
	return s.drawProof(ctx, caller, id, func(r *Report, plan proof.Plan) (int, error) {
		if r.Cloth == nil {
			return 0, service.Refuse(service.CodeNotFound, "no body was drafted")
		}
		extreme := r.Cloth.Min
		if of == MaxCloth {
			extreme = r.Cloth.Max
		}
		if plan.Where(extreme.At) != extreme.Where {
			return 0, fmt.Errorf("draft %d of proof %s is another one in this version", extreme.At, id)
		}
		return extreme.At, nil
	})
}

// DraftPicture draws a draft of a proof by its name, as ProofPicture does. It fails
// with CodeInvalidInput and the reason if that body is not drafted.
func (s *Service) DraftPicture(
	ctx context.Context, caller service.Caller, id uuid.UUID, where DraftName,
) (Picture, error) {
	return s.drawProof(ctx, caller, id, func(_ *Report, plan proof.Plan) (int, error) {
		for at := range plan.Len() {
			if plan.Where(at) == where {
				return at, nil
			}
		}
		return 0, service.NotFound("draft")
	})
}

// drawProof draws the draft that find chooses of a finished proof on the panel.
func (s *Service) drawProof(ctx context.Context, caller service.Caller, id uuid.UUID,
	find func(*Report, proof.Plan) (int, error),
) (Picture, error) {
	row, err := s.store.Proof(ctx, query.ProofParams{ShopID: caller.Owner(), ID: id})
	if err != nil {
		return Picture{}, service.OrNotFound(err, "proof")
	}
	p, err := s.toProof(row)
	if err != nil {
		return Picture{}, err
	}
	if p.Bodies != Panel || p.Report == nil {
		return Picture{}, service.Refuse(service.CodeNotFound,
			"only a finished proof on the built-in panel has pictures, if at least one body was drafted")
	}
	plan, err := s.plan(ctx, row, nil)
	if err != nil {
		return Picture{}, err
	}
	at, err := find(p.Report, plan)
	if err != nil {
		return Picture{}, err
	}
	leave, err := s.drafts.Enter(caller.Owner())
	if err != nil {
		return Picture{}, err
	}
	defer leave()
	picture := Picture{MediaType: "image/svg+xml"}
	err = s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
		pattern, err := plan.Draft(ctx, at)
		if refused, ok := errors.AsType[fault.List](err); ok {
			return service.Invalid(refused)
		}
		if err != nil {
			return fmt.Errorf("draft %d of proof %s: %w", at, id, err)
		}
		picture.Content, err = draw(ctx, pattern, false)
		return err
	})
	return picture, err
}

// draw returns a pattern as SVG for screens, with what can be picked in it if asked.
func draw(ctx context.Context, p finish.Pattern, picks bool) ([]byte, error) {
	var out bytes.Buffer
	err := render.SVG(ctx, &out, p, render.SVGOptions{For: render.ForScreens, Picks: picks})
	return out.Bytes(), err
}
