package legacy

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/proof"
	"tapeline/service/work"
)

// How a proof takes turns: what it has found is stored every proofStep, and it
// goes to the back of its queue after a proofTurn, which keeps the program from
// being stopped for no longer.
const (
	proofStep = time.Second
	proofTurn = 5 * time.Second
)

// maxProofFailures is after how many failures a proof need not go on.
const maxProofFailures = 500

// proveWorker proves style revisions. A proof goes on where it was last stored:
// a worker may die anywhere, or two may have the same job, and every draft is
// counted once.
type proveWorker struct {
	service *Service
}

func (w *proveWorker) Work(ctx context.Context, job *work.Job[proveArgs]) error {
	over, err := w.service.proveTurn(ctx, job.Args.ProofID)
	if err != nil || over {
		return err
	}
	return work.Again(0)
}

// proveTurn goes on with a proof for a while.
func (s *Service) proveTurn(ctx context.Context, id uuid.UUID) (over bool, err error) {
	p, err := s.store.Proof(ctx, id)
	if errors.Is(err, db.ErrNotFound) || err == nil && p.FinishedAt != nil {
		return true, nil
	}
	if err != nil {
		return false, fmt.Errorf("read proof: %w", err)
	}
	plan, err := s.proofPlan(ctx, p)
	if err != nil && Unavailable(err) {
		return false, err
	}
	if err != nil {
		s.log.Error("proof failed", "proof_id", id, "error", err)
		_, err := s.store.FinishProof(ctx, id, proofFailed, nil, s.now())
		return true, err
	}
	counted := proof.NewTally(len(plan.Variants))
	if p.Counted != nil {
		if err := json.Unmarshal(p.Counted, counted); err != nil {
			return false, fmt.Errorf("proof %s: %w", id, err)
		}
	}
	for end, done := time.Now().Add(proofTurn), p.Done; time.Now().Before(end); {
		from, step := done, time.Now().Add(proofStep)
		part, next, err := plan.Run(ctx, from, proof.Pace{Workers: s.cores.Most(), Each: s.onSpareCore,
			More: func() bool { return time.Now().Before(step) }})
		if err != nil {
			return false, err
		}
		counted.Merge(part)
		advanced, err := s.store.AdvanceProof(ctx, id, from, next, encode(counted), s.now())
		if err != nil || !advanced {
			return !advanced && err == nil, err // cancelled, or overtaken
		}
		if done = next; done == plan.Len() || counted.Failed >= maxProofFailures {
			return true, s.finishProof(ctx, p, plan, counted, done)
		}
	}
	return false, nil
}

// finishProof stores what a proof found, and what that means for its revision.
func (s *Service) finishProof(ctx context.Context, p db.Proof, plan proof.Plan, counted *proof.Tally, done int) error {
	result := proofResult{Report: plan.Report(counted), Engine: s.cfg.Version}
	if done < plan.Len() {
		result.Stopped = fmt.Sprintf("after %d failures, at %d of %d drafts", counted.Failed, done, plan.Len())
	}
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		r, err := tx.StyleRevisionForUpdate(ctx, p.ShopID, p.Slug, p.Number)
		if err != nil {
			return err
		}
		finished, err := tx.FinishProof(ctx, p.ID, proofDone, encode(result), s.now())
		if err != nil || !finished {
			return err
		}
		proved := result.whyNot() == ""
		switch {
		case proved && (r.State == styleStateDraft || r.State == styleStateProved):
			r.State, r.ProofID = styleStateProved, &p.ID
		case !proved && r.State == styleStateProved:
			r.State, r.ProofID = styleStateDraft, nil
		default:
			return nil
		}
		if err := tx.SetStyleState(ctx, r); err != nil {
			return err
		}
		return audit(ctx, tx, Caller{Shop: p.ShopID}, s.now(), "style."+map[bool]string{true: "proved", false: "disproved"}[proved], r.StyleID,
			map[string]any{"slug": p.Slug, "revision": p.Number, "proof": p.ID})
	})
}
