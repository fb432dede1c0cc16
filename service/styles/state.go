package styles

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/drafting/proof"
	"tapeline/service"
)

// Status is the state of a style revision.
type Status string

const (
	Draft     Status = "draft"     // can be tried out, takes no order
	Proved    Status = "proved"    // drafted on many bodies without a failure; drafts may have faults
	Published Status = "published" // takes orders
	Retired   Status = "retired"   // takes no new orders
)

// ProofStatus is the status of a proof.
type ProofStatus string

const (
	ProofWaiting   ProofStatus = "waiting"
	ProofRunning   ProofStatus = "running"
	ProofDone      ProofStatus = "done"
	ProofCancelled ProofStatus = "cancelled"
	ProofFailed    ProofStatus = "failed" // a fault of the program
)

// minBodies is the number of bodies that a proof needs to prove a style.
const minBodies = 20

// publish publishes a revision and reports whether that changes it. A draft
// cannot be published.
func (r *Revision) publish(at time.Time) (changed bool, err error) {
	switch r.Status {
	case Published:
		return false, nil
	case Retired:
		return false, service.Refuse(service.CodeWrongState,
			"a retired revision cannot be published; upload its script again")
	case Draft:
		return false, service.Refuse(service.CodeNotProved, "the revision has not been proved")
	}
	r.Status, r.PublishedAt = Published, &at
	return true, nil
}

// unconfirmed returns the refusal to publish a revision whose proof has drafts with
// faults, unless their number was confirmed; nil if there is none.
func (r result) unconfirmed(confirmed int) error {
	if r.Faulty == 0 || r.Faulty == confirmed {
		return nil
	}
	first := r.Faults[0]
	return service.Refuse(service.CodeFaultsUnconfirmed,
		"%d of %d drafts of its proof have faults that a cutter would send back, most often on %s (%s): %s",
		r.Faulty, r.Drafted, first.Body, first.Variant, first.Reason)
}

// retire retires a revision and reports whether that changes it.
func (r *Revision) retire(at time.Time) (changed bool) {
	if r.Status == Retired {
		return false
	}
	r.Status, r.RetiredAt = Retired, &at
	return true
}

// applyProof sets the state that follows from a finished proof and reports
// whether it changes. A published or retired revision keeps its state.
func (r *Revision) applyProof(id uuid.UUID, proved bool) (changed bool) {
	switch {
	case proved && (r.Status == Draft || r.Status == Proved):
		r.Status, r.ProofID = Proved, &id
	case !proved && r.Status == Proved:
		r.Status, r.ProofID = Draft, nil
	default:
		return false
	}
	return true
}

// result is the stored result of a finished proof.
type result struct {
	proof.Report
	Stopped string `json:"stopped,omitempty"`
	Engine  string `json:"engine"`
}

// shortfall returns the reason why a result does not prove the style, "" if it
// does. A fit in which every body is refused with the default choices is not
// proved.
func (r result) shortfall() string {
	if r.Failed > 0 {
		first := r.Failures[0]
		return fmt.Sprintf("its last proof failed in %d drafts, first on %s (%s): %s",
			r.Failed, first.Body, first.Variant, first.Reason)
	}
	if bodies := (r.Drafted + r.Refused) / max(1, len(r.Variants)); bodies < minBodies {
		return fmt.Sprintf("its last proof covered %d bodies; at least %d are required", bodies, minBodies)
	}
	undrafted := slices.DeleteFunc(r.Undrafted(), func(variant string) bool { return strings.Contains(variant, " ") })
	if len(undrafted) == 0 {
		return ""
	}
	reason := "no body was drafted in the fit " + strings.Join(undrafted, ", ")
	if len(r.Refusals) > 0 {
		reason += ": " + r.Refusals[0].Reason
	}
	return reason
}

// notProvedReason returns the reason why a draft is not proved. latest is its
// latest proof, nil if it has none.
func notProvedReason(latest *Proof) string {
	switch {
	case latest == nil:
		return "the revision has not been proved"
	case latest.Status == ProofDone && latest.Report != nil:
		return result{*latest.Report, latest.Stopped, latest.Engine}.shortfall()
	case latest.FinishedAt == nil:
		return fmt.Sprintf("its proof is running: %d of %d drafts", latest.Done, latest.Total)
	}
	return "its last proof ended as " + string(latest.Status)
}

// rate returns the drafts a second of a proof, until it finished or now.
func rate(done int, started, finished *time.Time, now time.Time) float64 {
	if started == nil || done == 0 {
		return 0
	}
	if finished != nil {
		now = *finished
	}
	return float64(done) / max(now.Sub(*started), time.Millisecond).Seconds()
}
