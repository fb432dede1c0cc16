package styles

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/proof"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/work"
)

// A proof stores its tally after every proofStep. After a proofTurn it goes to
// the back of its queue, so that stopping the program waits no longer.
const (
	proofStep = time.Second
	proofTurn = 5 * time.Second
)

// A proof stops after that many failures, and sooner if the failed drafts are those
// that cost most.
const (
	maxProofFailures = 500
	maxProofCostly   = 10 // drafts that exceed their budget
)

// stops reports whether a proof with the tally has failed enough.
func stops(t *proof.Tally) bool { return t.Failed >= maxProofFailures || t.Costly >= maxProofCostly }

// proveArgs is the job that continues a proof.
type proveArgs struct {
	ProofID uuid.UUID `json:"proof_id"`
}

func (proveArgs) Kind() string      { return "prove" }
func (proveArgs) Queue() work.Queue { return work.Proofs }

// workOnProof continues a proof from its stored tally. A worker may stop at any
// point, and two may have the same job: every draft is counted once.
func (s *Service) workOnProof(ctx context.Context, job *work.Job[proveArgs]) error {
	finished, err := s.continueProof(ctx, job.Args.ProofID)
	if err != nil || finished {
		return err
	}
	return work.Again(0)
}

// continueProof continues a proof for one turn and reports whether it needs no
// other.
func (s *Service) continueProof(ctx context.Context, id uuid.UUID) (finished bool, err error) {
	row, err := s.store.ProofWork(ctx, id)
	p := row.ShopStyleProof
	if errors.Is(err, db.ErrNotFound) || err == nil && p.FinishedAt != nil {
		return true, nil
	}
	if err != nil {
		return false, fmt.Errorf("read proof: %w", err)
	}
	plan, err := s.plan(ctx, p, row.BodyRows)
	if err != nil && service.Unavailable(err) {
		return false, err
	}
	if err != nil {
		s.cfg.Log.Error("proof failed", "proof_id", id, "error", err)
		failed := query.FinishProofParams{ID: id, Status: string(ProofFailed), At: s.cfg.Clock.Now()}
		_, err := s.store.FinishProof(ctx, failed)
		return true, err
	}
	if p.Worn != nil {
		var w Worn
		if err := json.Unmarshal(p.Worn, &w); err != nil {
			return false, fmt.Errorf("proof %s: %w", id, err)
		}
		return takeTurn(ctx, s, p, row.Counted, s.wornRun(p, wornPlan(plan, w)))
	}
	return takeTurn(ctx, s, p, row.Counted, s.draftedRun(p, plan))
}

// draftedRun is a proof under way whose drafts are not tried on.
func (s *Service) draftedRun(p query.ShopStyleProof, plan proof.Plan) run[*proof.Tally] {
	return run[*proof.Tally]{
		tally: proof.NewTally(len(plan.Variants)), length: plan.Len(), step: plan.Run, stops: stops,
		finish: func(ctx context.Context, t *proof.Tally, done int) error { return s.finishProof(ctx, p, plan, t, done) },
	}
}

// A run is a proof under way, with tallies of a type.
type run[T interface{ Merge(other T) }] struct {
	tally  T   // of no draft
	length int // number of drafts
	step   func(ctx context.Context, from int, pace proof.Pace) (T, int, error)
	stops  func(T) bool // whether enough drafts have failed
	finish func(ctx context.Context, t T, done int) error
}

// takeTurn continues a proof for one turn and reports whether it needs no other.
func takeTurn[T interface{ Merge(other T) }](
	ctx context.Context, s *Service, p query.ShopStyleProof, counted json.RawMessage, r run[T],
) (finished bool, err error) {
	tally := r.tally
	if counted != nil {
		if err := json.Unmarshal(counted, tally); err != nil {
			return false, fmt.Errorf("tally of proof %s: %w", p.ID, err)
		}
	}
	turn, cancel := context.WithTimeout(ctx, proofTurn)
	defer cancel()
	for done := p.Done; turn.Err() == nil; {
		part, next, err := runStep(ctx, s, p.ShopID, done, r)
		if err != nil {
			return false, err
		}
		tally.Merge(part)
		n, err := s.store.AdvanceProof(ctx, query.AdvanceProofParams{ID: p.ID, From: done, Done: next,
			Counted: db.JSON(tally), At: s.cfg.Clock.Now()})
		if err != nil || n == 0 {
			return false, err // cancelled, begun again without an erased customer, or another worker was faster
		}
		if done = next; done == r.length || r.stops(tally) {
			return true, r.finish(ctx, tally, done)
		}
	}
	return false, nil
}

// runStep makes drafts of a proof from one on, on spare cores, until proofStep has
// passed.
func runStep[T interface{ Merge(other T) }](
	ctx context.Context, s *Service, shop uuid.UUID, from int, r run[T],
) (T, int, error) {
	step, cancel := context.WithTimeout(ctx, proofStep)
	defer cancel()
	return r.step(ctx, from, proof.Pace{
		Workers: s.cfg.Cores.Most(),
		Each: func(ctx context.Context, draft func(context.Context)) error {
			return s.cfg.Cores.Do(ctx, work.Bulk, shop, func(ctx context.Context) error { draft(ctx); return nil })
		},
		More:      func() bool { return step.Err() == nil },
		Recovered: func(ctx context.Context, v any) { _ = s.cfg.Cores.Recovered(ctx, work.AtProof, v) },
	})
}

// finishProof stores the result of a proof and the state of the revision that
// follows from it.
func (s *Service) finishProof(
	ctx context.Context, p query.ShopStyleProof, plan proof.Plan, tally *proof.Tally, done int,
) error {
	r := result{Report: plan.Report(tally), Engine: s.cfg.Version}
	if done < plan.Len() {
		r.Stopped = fmt.Sprintf("after %d failures, at %d of %d drafts", tally.Failed, done, plan.Len())
	}
	if done < plan.Len() && tally.Costly > 0 {
		r.Stopped += fmt.Sprintf("; %d drafts took too much time or memory", tally.Costly)
	}
	action, proved := "style.disproved", r.shortfall() == ""
	if proved {
		action = "style.proved"
	}
	now := s.cfg.Clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		revision, err := lockRevision(ctx, tx, p.ShopID, p.Slug, p.Number)
		if err != nil {
			return err
		}
		from := revision.Status
		end := query.FinishProofParams{ID: p.ID, Status: string(ProofDone), Result: db.JSON(r), At: now}
		n, err := tx.FinishProof(ctx, end)
		if err != nil || n == 0 || !revision.applyProof(p.ID, proved) {
			return err
		}
		return storeStatus(ctx, tx, service.Caller{Shop: p.ShopID}, from, revision,
			access.Action{Name: action, At: now, Detail: map[string]any{"proof": p.ID}})
	})
}

// Orphans returns jobs for unfinished proofs that were created before a time
// and have none.
func (s *Service) Orphans(ctx context.Context, before time.Time, limit int) ([]work.Args, error) {
	rows, err := s.store.OrphanedProofs(ctx, query.OrphanedProofsParams{
		Kinds: []string{proveArgs{}.Kind(), proveWornArgs{}.Kind()}, Before: before, Limit: limit})
	jobs := make([]work.Args, len(rows))
	for i, row := range rows {
		jobs[i] = newProofJob(row.ID, row.Worn)
	}
	return jobs, err
}
