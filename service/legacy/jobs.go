package legacy

import (
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivertype"

	"tapeline/db"
)

// Queues: drafting takes a core each, delivering mostly waits. Batches of refits
// have one of their own, so that an order just placed does not wait behind them.
const (
	queueDrafts    = "drafts"
	queueRefits    = "refits"
	queueWebhooks  = "webhooks"
	queueProofs    = "proofs"
	queueRetention = "retention"
)

// Times of jobs. A job whose process was killed is taken up again rescueAfter
// later, at most half a minute more; it must be longer than any job may run.
const (
	jobTimeout    = 40 * time.Second
	rescueAfter   = time.Minute
	fetchCooldown = 20 * time.Millisecond  // each fetch costs Postgres about half a millisecond; many are taken at once
	fetchPoll     = 200 * time.Millisecond // of jobs inserted close together only the first is announced: how long one may lie unseen
	keepDone      = 15 * time.Minute       // our own tables say what became of a job
	maxAttempts   = 100                    // of jobs that fail for want of a database
	longestRetry  = 30 * time.Second
)

// draftArgs is the job to draft an order as it stood at a draft request.
type draftArgs struct {
	OrderID uuid.UUID `json:"order_id"`
	Request int       `json:"request"`
}

func (draftArgs) Kind() string { return "draft" }

// deliverArgs is the job to deliver a webhook message.
type deliverArgs struct {
	MessageID uuid.UUID `json:"message_id"`
}

func (deliverArgs) Kind() string { return "deliver" }

// proveArgs is the job to go on with a proof.
type proveArgs struct {
	ProofID uuid.UUID `json:"proof_id"`
}

func (proveArgs) Kind() string { return "prove" }

// retentionArgs is the job that clears away what is past its use.
type retentionArgs struct{}

func (retentionArgs) Kind() string { return "retention" }

// jobList are jobs to be enqueued together.
type jobList []river.InsertManyParams

func draftJob(order uuid.UUID, request int) river.InsertManyParams {
	return river.InsertManyParams{Args: draftArgs{order, request}, InsertOpts: &river.InsertOpts{Queue: queueDrafts, MaxAttempts: maxAttempts}}
}

func proveJob(proof uuid.UUID) river.InsertManyParams {
	return river.InsertManyParams{Args: proveArgs{proof}, InsertOpts: &river.InsertOpts{Queue: queueProofs, MaxAttempts: maxAttempts}}
}

func deliverJob(message uuid.UUID) river.InsertManyParams {
	return river.InsertManyParams{Args: deliverArgs{message}, InsertOpts: &river.InsertOpts{Queue: queueWebhooks, MaxAttempts: maxAttempts}}
}

func deliverJobs(messages []db.QueuedMessage) jobList {
	jobs := make(jobList, len(messages))
	for i, m := range messages {
		jobs[i] = deliverJob(m.ID)
	}
	return jobs
}

// enqueue adds jobs in the transaction of what they follow from.
func (s *Service) enqueue(ctx context.Context, tx *db.Tx, jobs jobList) error {
	if len(jobs) == 0 {
		return nil
	}
	if _, err := s.jobs.InsertManyFastTx(ctx, tx.Raw(), jobs); err != nil {
		return fmt.Errorf("enqueue: %w", err)
	}
	return nil
}

func (s *Service) newJobs() (*river.Client[pgx.Tx], error) {
	if s.cfg.DraftWorkers == 0 {
		s.cfg.DraftWorkers = 2 * runtime.GOMAXPROCS(0)
	}
	if s.cfg.DeliverWorkers == 0 {
		s.cfg.DeliverWorkers = 64
	}
	workers := river.NewWorkers()
	river.AddWorker(workers, &draftWorker{service: s})
	river.AddWorker(workers, &refitWorker{service: s})
	river.AddWorker(workers, newDeliverWorker(s))
	river.AddWorker(workers, &proveWorker{service: s})
	river.AddWorker(workers, &retentionWorker{service: s})
	client, err := river.NewClient(riverpgxv5.New(s.store.Pool()), &river.Config{
		Queues: map[string]river.QueueConfig{
			queueDrafts:    {MaxWorkers: s.cfg.DraftWorkers},
			queueRefits:    {MaxWorkers: runtime.GOMAXPROCS(0) + 1}, // one reads or writes while the others draft
			queueWebhooks:  {MaxWorkers: s.cfg.DeliverWorkers},
			queueProofs:    {MaxWorkers: 1}, // it shares one replica's processors out by itself
			queueRetention: {MaxWorkers: 1},
		},
		Workers:                     workers,
		FetchCooldown:               fetchCooldown,
		FetchPollInterval:           fetchPoll,
		JobTimeout:                  jobTimeout,
		RescueStuckJobsAfter:        rescueAfter,
		CompletedJobRetentionPeriod: keepDone,
		RetryPolicy:                 retryPolicy{},
		Logger:                      slog.New(atLeast{s.log.Handler(), slog.LevelWarn}),
		PeriodicJobs: []*river.PeriodicJob{river.NewPeriodicJob(
			river.PeriodicInterval(time.Hour),
			func() (river.JobArgs, *river.InsertOpts) {
				return retentionArgs{}, &river.InsertOpts{Queue: queueRetention}
			},
			&river.PeriodicJobOpts{RunOnStart: true},
		)},
	})
	if err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	return client, nil
}

// retryPolicy retries soon: what fails is the database, and it comes back.
type retryPolicy struct{}

func (retryPolicy) NextRetry(job *rivertype.JobRow) time.Time {
	wait := time.Second << min(len(job.Errors), 5)
	return time.Now().Add(min(wait, longestRetry))
}

// StartJobs begins to work on jobs, until StopJobs.
func (s *Service) StartJobs(ctx context.Context) error { return s.jobs.Start(ctx) }

// StopJobs takes no more jobs and waits for those under way; when ctx ends
// first they are cancelled and go back to the queue.
func (s *Service) StopJobs(ctx context.Context) error {
	if err := s.jobs.Stop(ctx); err == nil || ctx.Err() == nil {
		return err
	}
	hard, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	return s.jobs.StopAndCancel(hard)
}

// atLeast passes on log records of a level and above.
type atLeast struct {
	slog.Handler
	level slog.Level
}

func (h atLeast) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= h.level && h.Handler.Enabled(ctx, level)
}

func (h atLeast) WithAttrs(attrs []slog.Attr) slog.Handler {
	return atLeast{h.Handler.WithAttrs(attrs), h.level}
}

func (h atLeast) WithGroup(name string) slog.Handler {
	return atLeast{h.Handler.WithGroup(name), h.level}
}
