package app

import (
	"context"
	"fmt"
	"time"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service/work"
)

// Retention is for how long each kind of record is kept once it has served its
// purpose. Customers with their measurements and drafts are kept for as long as
// their shop says; orders and their history, as bare records, for good.
type Retention struct {
	Answers     time.Duration // answers to repeated requests; at least 48 h, as the contract promises; 0: 3 days
	Messages    time.Duration // webhook messages delivered or given up, and inbound ones; 0: 30 days
	Links       time.Duration // download links and questions after they expire; 0: 30 days
	Scripts     time.Duration // of styles, that nothing names; 0: 30 days
	Proofs      time.Duration // finished proofs by which no revision was proved; 0: 1 year
	Comparisons time.Duration // of drafts, by refits that ended; 0: 1 year
	Audit       time.Duration // audit trail; at least 1 year, which the schema enforces; 0: 3 years
}

// withDefaults replaces zeros.
func (r Retention) withDefaults() Retention {
	const day, year = 24 * time.Hour, 365 * 24 * time.Hour
	for field, value := range map[*time.Duration]time.Duration{
		&r.Answers: 3 * day, &r.Messages: 30 * day, &r.Links: 30 * day, &r.Scripts: 30 * day,
		&r.Proofs: year, &r.Comparisons: year, &r.Audit: 3 * year,
	} {
		if *field == 0 {
			*field = value
		}
	}
	return r
}

// retentionArgs is the job that removes what is past its use.
type retentionArgs struct{}

func (retentionArgs) Kind() string      { return "retention" }
func (retentionArgs) Queue() work.Queue { return work.Retention }

// registerRetention runs ClearAway every hour, on one replica at a time. What
// one run does not get done in a job's time is left for the next.
func (a *App) registerRetention() {
	work.Handle(a.jobs, func(ctx context.Context, _ *work.Job[retentionArgs]) error {
		return a.ClearAway(ctx, a.clock.Now())
	})
	a.jobs.Every(time.Hour, retentionArgs{})
}

// batch is how many rows are removed in one transaction.
const batch = 1000

// ClearAway enqueues work that lost its job, erases customers whom their shop
// keeps no longer, and removes what at the time is past its use.
func (a *App) ClearAway(ctx context.Context, now time.Time) error {
	if err := a.adoptOrphans(ctx, now); err != nil {
		return err
	}
	if err := a.Customers.EraseStale(ctx, now); err != nil {
		return fmt.Errorf("erase stale customers: %w", err)
	}
	keep := a.retention.withDefaults()
	for _, kind := range []struct {
		what   string
		keep   time.Duration
		remove func(ctx context.Context, before time.Time) (int64, error)
	}{
		{"answers", keep.Answers, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteAnswers(ctx, query.DeleteAnswersParams{Before: before, Limit: batch})
		}},
		{"pending webhook messages of disabled endpoints", 0, func(ctx context.Context, now time.Time) (int64, error) {
			return a.Webhooks.GiveUp(ctx, now, batch)
		}},
		{"listeners", 0, func(ctx context.Context, now time.Time) (int64, error) {
			return a.Webhooks.EndListeners(ctx, now, batch)
		}},
		{"webhook messages", keep.Messages, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteMessages(ctx, query.DeleteMessagesParams{Before: before, Limit: batch})
		}},
		{"inbound messages", keep.Messages, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteInboundMessages(ctx, query.DeleteInboundMessagesParams{Before: before, Limit: batch})
		}},
		{"links", keep.Links, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteLinks(ctx, query.DeleteLinksParams{Before: before, Limit: batch})
		}},
		{"questions", keep.Links, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteQuestions(ctx, query.DeleteQuestionsParams{Before: before, Limit: batch})
		}},
		{"sessions", 0, func(ctx context.Context, now time.Time) (int64, error) {
			return a.store.DeleteSessions(ctx, query.DeleteSessionsParams{Before: now, Limit: batch})
		}},
		{"proofs", keep.Proofs, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteProofs(ctx, query.DeleteProofsParams{Before: before, Limit: batch})
		}},
		{"scripts", keep.Scripts, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteScripts(ctx, query.DeleteScriptsParams{Before: before, Limit: batch})
		}},
		{"comparisons", keep.Comparisons, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.EmptyComparisons(ctx, query.EmptyComparisonsParams{Before: before, Limit: batch})
		}},
		{"fittings of refits", keep.Comparisons, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteOldRefitFittings(ctx, query.DeleteOldRefitFittingsParams{Before: before, Limit: batch})
		}},
		{"audit entries", keep.Audit, func(ctx context.Context, before time.Time) (int64, error) {
			return a.store.DeleteAudit(ctx, query.DeleteAuditParams{Before: before, Limit: batch})
		}},
	} {
		total, err := untilDone(ctx, now.Add(-kind.keep), kind.remove)
		if err != nil {
			return fmt.Errorf("remove %s: %w", kind.what, err)
		}
		if total > 0 {
			a.log.Info("removed what is past its use", "what", kind.what, "count", total)
		}
	}
	return nil
}

// orphanedAfter is how long work may wait before its job is looked for: longer
// than a job takes to begin.
const orphanedAfter = 5 * time.Minute

// adoptOrphans enqueues work again that has no job: the job was given up, or
// lost with a backup that the database was restored from. A job that runs twice
// does nothing the second time.
func (a *App) adoptOrphans(ctx context.Context, now time.Time) error {
	for subject, orphans := range map[string]func(context.Context, time.Time, int) ([]work.Args, error){
		"orders": a.Orders.Orphans, "refits": a.Refits.Orphans, "styles": a.Styles.Orphans,
		"fittings": a.Fittings.Orphans, "fittings of refits": a.Refits.UntriedOrphans,
	} {
		jobs, err := orphans(ctx, now.Add(-orphanedAfter), batch)
		if err != nil {
			return fmt.Errorf("find %s without a job: %w", subject, err)
		}
		if len(jobs) == 0 {
			continue
		}
		if err := a.store.InTx(ctx, func(tx *db.Tx) error { return a.jobs.Enqueue(ctx, tx, jobs...) }); err != nil {
			return err
		}
		a.log.Warn("enqueued work that had lost its job", "subject", subject, "jobs", len(jobs))
	}
	return nil
}

// untilDone repeats a deletion until less than a batch is left.
func untilDone(
	ctx context.Context, before time.Time, remove func(context.Context, time.Time) (int64, error),
) (total int64, err error) {
	for {
		n, err := remove(ctx, before)
		total += n
		if err != nil || n < batch {
			return total, err
		}
	}
}
