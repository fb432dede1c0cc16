package styles

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/drape"
	"tapeline/drafting/fault"
	"tapeline/drafting/fitting"
	"tapeline/drafting/proof"
	"tapeline/service"
	"tapeline/service/work"
)

// Worn says how the drafts of a proof are tried on.
type Worn struct {
	Level  string `json:"level,omitempty"`  // quick, or full for triangles of half the size; "" is quick
	Cloth  string `json:"cloth,omitempty"`  // name of a preset; "" for the one that suits the style
	Sample int    `json:"sample,omitempty"` // how many of the bodies, evenly spread; 0 is UsualSample
	Cures  bool   `json:"cures,omitempty"`  // look for changes that remove what is found
}

// Levels of Worn.
const (
	quick = "quick"
	full  = "full"
)

// How many bodies a worn proof samples.
const (
	UsualSample = 30
	MaxSample   = 1000
)

// The report of a proof whose drafts are tried on, as package proof defines it.
type (
	WornReport  = proof.WornReport
	WornCounts  = proof.WornCounts
	WornVariant = proof.WornVariant
	WornFinding = proof.WornFinding
)

// wornResult is the stored result of a finished proof whose drafts were tried on.
type wornResult struct {
	WornReport
	Stopped string `json:"stopped,omitempty"`
	Engine  string `json:"engine"`
}

// withDefaults replaces zeros.
func (w Worn) withDefaults() Worn {
	if w.Level == "" {
		w.Level = quick
	}
	if w.Sample == 0 {
		w.Sample = UsualSample
	}
	return w
}

// check refuses a request to try drafts on.
func (w Worn) check(bodies Bodies) error {
	var faults fault.List
	if _, ok := drape.PresetOf(w.Cloth); !ok && w.Cloth != "" {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/worn/cloth", Value: fault.Shorten(w.Cloth),
			Accepted: fitting.ClothNames()})
	}
	if w.Level != quick && w.Level != full {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/worn/level", Value: fault.Shorten(w.Level),
			Accepted: quick + " or " + full})
	}
	if w.Sample < 1 || w.Sample > MaxSample {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/worn/sample", Value: strconv.Itoa(w.Sample),
			Accepted: fmt.Sprintf("1 to %d", MaxSample)})
	}
	if bodies == Customers {
		faults = append(faults, fault.Fault{Code: fault.Choice, Field: "/bodies", Value: string(bodies),
			Accepted: "panel or file: what is found on a customer's body belongs to a fitting of their order"})
	}
	if len(faults) > 0 {
		return service.Invalid(faults)
	}
	return nil
}

// wornPlan returns the plan of a proof with its drafts tried on.
func wornPlan(plan proof.Plan, w Worn) proof.Worn {
	return proof.Worn{Plan: plan, Cloth: w.Cloth, Full: w.Level == full, Cures: w.Cures}
}

// proveWornArgs is the job that continues a proof whose drafts are tried on.
type proveWornArgs struct {
	ProofID uuid.UUID `json:"proof_id"`
}

func (proveWornArgs) Kind() string      { return "prove_worn" }
func (proveWornArgs) Queue() work.Queue { return work.Fittings }

// Behind implements work.Behind: fittings of orders go first.
func (proveWornArgs) Behind() int { return 100 }

// newProofJob returns the job of a proof.
func newProofJob(id uuid.UUID, worn bool) work.Args {
	if worn {
		return proveWornArgs{id}
	}
	return proveArgs{id}
}

// Limits of a proof whose drafts are tried on.
const (
	wornTime        = time.Minute // of a processor, of a draft; a dress takes 1 to 5 s
	wornWorkers     = 2           // drafts at once: as many as find room in memory
	maxWornFailures = 20
)

// wornRun is a worn proof under way.
func (s *Service) wornRun(p query.ShopStyleProof, plan proof.Worn) run[*proof.WornTally] {
	return run[*proof.WornTally]{
		tally: proof.NewWornTally(len(plan.Variants)), length: plan.Len(),
		step: func(ctx context.Context, from int, pace proof.Pace) (*proof.WornTally, int, error) {
			pace.Workers = min(pace.Workers, wornWorkers)
			pace.Each = func(ctx context.Context, try func(context.Context)) error {
				err := s.cfg.Cores.DoFor(ctx, work.Bulk, p.ShopID, wornTime,
					func(ctx context.Context) error { try(ctx); return nil })
				if ctx.Err() == nil && service.TooCostly(err) != nil {
					return nil // the draft has said so itself
				}
				return err
			}
			return plan.Run(ctx, from, pace)
		},
		stops: func(t *proof.WornTally) bool { return t.Failed >= maxWornFailures },
		finish: func(ctx context.Context, t *proof.WornTally, done int) error {
			r := wornResult{WornReport: plan.Report(t), Engine: s.cfg.Version}
			if done < plan.Len() {
				r.Stopped = fmt.Sprintf("after %d failures, at %d of %d drafts", t.Failed, done, plan.Len())
			}
			_, err := s.store.FinishProof(ctx, query.FinishProofParams{ID: p.ID, Status: string(ProofDone),
				Result: db.JSON(r), At: s.cfg.Clock.Now()})
			return err
		},
	}
}

// workOnWorn continues a proof whose drafts are tried on.
func (s *Service) workOnWorn(ctx context.Context, job *work.Job[proveWornArgs]) error {
	finished, err := s.continueProof(ctx, job.Args.ProofID)
	if err != nil || finished {
		return err
	}
	return work.Again(0)
}
