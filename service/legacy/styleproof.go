package legacy

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/fault"
	"tapeline/drafting/proof"
	"tapeline/drafting/render"
)

// Bodies that a style can be proved on.
const (
	BodiesPanel     = "panel"     // built in, over the size table
	BodiesFile      = "file"      // sent along
	BodiesCustomers = "customers" // the shop's own, each by their latest measurements
)

// Where a proof stands.
const (
	proofWaiting   = "waiting"
	proofRunning   = "running"
	proofDone      = "done"
	proofCancelled = "cancelled"
	proofFailed    = "failed" // a fault of ours
)

// What one proof, and the proofs of one shop, may be.
const (
	maxOpenProofs  = 3       // of a shop, waiting or running
	maxProofDrafts = 300_000 // bodies times variants
	maxCustomers   = 5000
	maxProofsShown = 100
	minBodies      = 20 // a style drafted to fewer is not proved
)

// Proof is a proof of a style revision: how far it is, and what it found.
type Proof struct {
	db.ProofHead
	Report  *proof.Report // when done
	Stopped string        // why it ended before its last draft
	Engine  string        // version of the drafting code that made the drafts, when done
	Rate    float64       // drafts a second so far
}

// proofResult is what is stored of a proof that was done.
type proofResult struct {
	proof.Report
	Stopped string `json:"stopped,omitempty"`
	Engine  string `json:"engine"`
}

func (s *Service) readProof(head db.ProofHead) (Proof, error) {
	p := Proof{ProofHead: head}
	if head.StartedAt != nil && head.Done > 0 {
		end := s.now()
		if head.FinishedAt != nil {
			end = *head.FinishedAt
		}
		p.Rate = float64(head.Done) / max(end.Sub(*head.StartedAt), time.Millisecond).Seconds()
	}
	if head.Result == nil {
		return p, nil
	}
	var result proofResult
	if err := json.Unmarshal(head.Result, &result); err != nil {
		return Proof{}, fmt.Errorf("result of proof %s: %w", head.ID, err)
	}
	p.Report, p.Stopped, p.Engine = &result.Report, result.Stopped, result.Engine
	return p, nil
}

// ProofRequest says on whom to prove a revision.
type ProofRequest struct {
	Bodies string
	CSV    string // of BodiesFile, as proof.ReadCSV reads it
}

// StartProof has a revision drafted, in every fit and at the ends of every
// choice, on many bodies. It is done by a job.
func (s *Service) StartProof(ctx context.Context, caller Caller, slug string, number int, r ProofRequest) (Proof, error) {
	row, err := s.store.StyleRevision(ctx, caller.Shop, slug, number)
	if err != nil {
		return Proof{}, orNotFound(err, "style revision")
	}
	if row.State == styleStateRetired {
		return Proof{}, refuse(CodeWrongState, "a retired revision is not proved")
	}
	variants, garment, err := s.proofVariants(ctx, slug, hex.EncodeToString(row.Hash))
	if err != nil {
		return Proof{}, asInvalid(err)
	}
	rows, count, err := s.proofBodies(ctx, caller, r, garment)
	if err != nil {
		return Proof{}, err
	}
	p := db.Proof{ProofHead: db.ProofHead{ID: s.newID(), ShopID: caller.Shop, StyleID: row.StyleID, Slug: slug, Number: number, Bodies: r.Bodies,
		Status: proofWaiting, Total: count * len(variants), CreatedBy: actor(caller), CreatedAt: s.now()}, BodyRows: rows}
	if p.Total > maxProofDrafts {
		return Proof{}, invalid(fault.List{{Code: fault.Size, Field: "/bodies", Value: fmt.Sprint(count),
			Accepted: fmt.Sprintf("at most %d bodies: the style is drafted in %d ways, and a proof makes at most %d drafts", maxProofDrafts/len(variants), len(variants), maxProofDrafts)}})
	}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		open, err := tx.OpenProofs(ctx, caller.Shop)
		if err != nil {
			return err
		}
		if open >= maxOpenProofs {
			return refuse(CodeLimitReached, "%d proofs of this shop are under way; wait for one, or cancel it", open)
		}
		if err := tx.InsertProof(ctx, p); err != nil {
			return err
		}
		if err := audit(ctx, tx, caller, s.now(), "style_proof.started", p.ID, map[string]any{"slug": slug, "revision": number, "bodies": r.Bodies}); err != nil {
			return err
		}
		return s.enqueue(ctx, tx, jobList{proveJob(p.ID)})
	})
	return Proof{ProofHead: p.ProofHead}, err
}

// Proof reads a proof of the shop.
func (s *Service) Proof(ctx context.Context, caller Caller, id uuid.UUID) (Proof, error) {
	head, err := s.store.ProofHead(ctx, caller.Shop, id)
	if err != nil {
		return Proof{}, orNotFound(err, "proof")
	}
	return s.readProof(head)
}

// Proofs lists the latest proofs of a revision, newest first.
func (s *Service) Proofs(ctx context.Context, caller Caller, slug string, number int) ([]Proof, error) {
	row, err := s.store.StyleRevision(ctx, caller.Shop, slug, number)
	if err != nil {
		return nil, orNotFound(err, "style revision")
	}
	heads, err := s.store.ProofHeads(ctx, row.StyleID, number, maxProofsShown)
	if err != nil {
		return nil, err
	}
	proofs := make([]Proof, len(heads))
	for i, head := range heads {
		if proofs[i], err = s.readProof(head); err != nil {
			return nil, err
		}
	}
	return proofs, nil
}

// CancelProof ends a proof that is not over; one that is stays as it is.
func (s *Service) CancelProof(ctx context.Context, caller Caller, id uuid.UUID) (Proof, error) {
	err := s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.ProofHead(ctx, caller.Shop, id); err != nil {
			return orNotFound(err, "proof")
		}
		cancelled, err := tx.FinishProof(ctx, id, proofCancelled, nil, s.now())
		if err != nil || !cancelled {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "style_proof.cancelled", id, nil)
	})
	if err != nil {
		return Proof{}, err
	}
	return s.Proof(ctx, caller, id)
}

// whyNotProved says what stands between a draft and its being published.
func (s *Service) whyNotProved(ctx context.Context, tx *db.Tx, r db.StyleRevision) (string, error) {
	heads, err := tx.ProofHeads(ctx, r.StyleID, r.Number, 1)
	if err != nil || len(heads) == 0 {
		return "the revision has not been proved", err
	}
	p, err := s.readProof(heads[0])
	if err != nil {
		return "", err
	}
	switch p.Status {
	case proofDone:
		return p.result().whyNot(), nil
	case proofWaiting, proofRunning:
		return fmt.Sprintf("its proof is under way, at %d of %d drafts", p.Done, p.Total), nil
	}
	return "its last proof was " + p.Status, nil
}

// bodies is on how many it was proved.
func (r proofResult) bodies() int {
	return (r.Drafted + r.Refused + r.Failed) / max(1, len(r.Variants))
}

func (p Proof) result() proofResult { return proofResult{*p.Report, p.Stopped, p.Engine} }

// whyNot says why a result does not prove the style, "" where it does. A fit
// that nobody can have, with nothing chosen, is not proved by being refused.
func (r proofResult) whyNot() string {
	if r.Failed > 0 {
		first := r.Failures[0]
		return fmt.Sprintf("its last proof failed in %d drafts, first on %s (%s): %s", r.Failed, first.Body, first.Variant, first.Reason)
	}
	if bodies := r.bodies(); bodies < minBodies {
		return fmt.Sprintf("its last proof took too few bodies: %d of at least %d", bodies, minBodies)
	}
	if undrafted := slices.DeleteFunc(r.Undrafted(), func(name string) bool { return strings.Contains(name, " ") }); len(undrafted) > 0 {
		why := "no body was drafted in the fit " + strings.Join(undrafted, ", ")
		if len(r.Refusals) > 0 {
			why += ": " + r.Refusals[0].Reason
		}
		return why
	}
	return ""
}

// Extremes of a proof that there is a picture of.
const (
	LeastCloth = "min_cloth"
	MostCloth  = "max_cloth"
)

// ProofPicture draws, for screens, the draft of a proof that took the least or
// the most cloth. There is one while its body is known: of the built-in panel.
func (s *Service) ProofPicture(ctx context.Context, caller Caller, id uuid.UUID, of string) (File, error) {
	p, err := s.Proof(ctx, caller, id)
	if err != nil {
		return File{}, err
	}
	if p.Bodies != BodiesPanel || p.Report == nil || p.Report.Cloth == nil {
		return File{}, refuse(CodeNotFound, "there is a picture of a proof on the built-in panel, once it is done and something was drafted")
	}
	extreme := p.Report.Cloth.Least
	if of == MostCloth {
		extreme = p.Report.Cloth.Most
	}
	plan, err := s.proofPlan(ctx, db.Proof{ProofHead: p.ProofHead})
	if err == nil && plan.Where(extreme.At) != extreme.Where {
		err = fmt.Errorf("draft %d of proof %s is another by now", extreme.At, id)
	}
	if err != nil {
		return File{}, asInvalid(err)
	}
	format, o, err := asked("svg", render.Options{For: render.ForScreens})
	if err != nil {
		return File{}, err
	}
	f := File{MediaType: format.MediaType}
	err = s.onCore(ctx, func() error {
		pattern, err := plan.Draft(ctx, extreme.At)
		if err != nil {
			return fmt.Errorf("draft %d of proof %s again: %w", extreme.At, id, err)
		}
		f.Content, err = written(ctx, pattern, format, o)
		return err
	})
	return f, err
}
