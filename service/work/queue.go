package work

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivertype"

	"tapeline/db"
	"tapeline/service"
)

// Queue names a queue of jobs. Refits have a queue of their own, so that a new order does not wait
// behind their batches.
type Queue string

const (
	Drafts    Queue = "drafts"
	Refits    Queue = "refits"
	Proofs    Queue = "proofs"
	Fittings  Queue = "fittings"
	Retention Queue = "retention"
)

// Times of jobs.
const (
	jobTimeout    = 40 * time.Second
	fittingTime   = 10 * time.Minute       // of a job in Fittings: seconds of a processor that is shared out in slices
	fetchCooldown = 40 * time.Millisecond  // each fetch costs Postgres about half a millisecond; many are taken at once
	fetchPoll     = 200 * time.Millisecond // only the first of jobs inserted close together is announced
	fetchRare     = time.Second            // of queues with few jobs, for which nobody waits
	keepDone      = 15 * time.Minute       // the tables of each subject say what became of a job
	maxAttempts   = 100                    // of jobs that fail for want of a database
	maxRetryDelay = 30 * time.Second
)

// Args are the arguments of a job, stored as JSON.
type Args interface {
	Kind() string // names the type of the arguments
	Queue() Queue
}

// Behind is implemented by arguments of jobs that know how many jobs of the same
// shop wait already. Jobs with few before them come first, so that the burst of one
// shop does not delay the others.
type Behind interface {
	Behind() int
}

// MostBehind is the number from which on more jobs before a job make no difference.
const MostBehind = 1000

// priority returns a job's priority in its queue, from 1 (first) to 4.
func priority(args Args) int {
	b, ok := args.(Behind)
	switch {
	case !ok || b.Behind() < 20: // a few seconds' work
		return river.PriorityDefault
	case b.Behind() < 100:
		return 2
	case b.Behind() < MostBehind:
		return 3
	default:
		return 4
	}
}

// Job is a job being worked on. It is marked as done after its worker returns, and
// may be worked on again if the process dies before.
type Job[A Args] = river.Job[A]

// JobOptions are the options of NewJobs.
type JobOptions struct {
	Log          *slog.Logger
	Clock        service.Clock
	DraftWorkers int         // drafts at once; 0: two a processor
	Panicked     func(Place) // called after a worker panicked; nil for nothing

	// JobTimeout is the longest time that a job may run; 0: 40 seconds. A fitting may
	// run for ten minutes. A job whose process was killed continues after one and a half
	// times as long, or up to five seconds later.
	JobTimeout time.Duration
}

// Jobs is the job queue in the database. A job is worked on at least once, and
// again until its worker returns no error.
type Jobs struct {
	client  *river.Client[pgx.Tx]
	workers *river.Workers
	rescuer rescuer
}

// NewJobs returns the job queue of a store. Register a worker for each type of
// job with Handle, then call Start.
func NewJobs(store *db.Store, opts JobOptions) (*Jobs, error) {
	if opts.DraftWorkers == 0 {
		opts.DraftWorkers = 2 * runtime.GOMAXPROCS(0)
	}
	timeout := cmp.Or(opts.JobTimeout, jobTimeout)
	workers := river.NewWorkers()
	client, err := river.NewClient(riverpgxv5.New(store.Pool()), &river.Config{
		Queues: map[string]river.QueueConfig{
			string(Drafts):    {MaxWorkers: opts.DraftWorkers},
			string(Refits):    {MaxWorkers: runtime.GOMAXPROCS(0) + 1},       // one reads or writes while the others draft
			string(Proofs):    {MaxWorkers: 1, FetchPollInterval: fetchRare}, // it shares one replica's processors out by itself
			string(Fittings):  {MaxWorkers: 1, FetchPollInterval: fetchRare}, // the memory of one
			string(Retention): {MaxWorkers: 1, FetchPollInterval: fetchRare},
		},
		Workers:                     workers,
		FetchCooldown:               fetchCooldown,
		FetchPollInterval:           fetchPoll,
		JobTimeout:                  timeout,
		RescueStuckJobsAfter:        rescueByQueue,
		CompletedJobRetentionPeriod: keepDone,
		RetryPolicy:                 retryPolicy{opts.Clock},
		Test:                        river.TestConfig{Time: queueTime{opts.Clock}}, // its only setting of a clock
		Hooks:                       []rivertype.Hook{stampInserts(opts.Clock)},
		ErrorHandler:                panicHandler{opts.Panicked},
		Logger:                      slog.New(warnings{opts.Log.Handler()}),
	})
	if err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	return &Jobs{client: client, workers: workers, rescuer: rescuer{store: store, after: timeout * 3 / 2}}, nil
}

// Handle registers the function that works on jobs of a type. It may return
// Again to be called again later.
func Handle[A Args](j *Jobs, work func(context.Context, *Job[A]) error) {
	river.AddWorker(j.workers, worker[A]{do: work})
}

// worker works on jobs of a type.
type worker[A Args] struct {
	river.WorkerDefaults[A]
	do func(context.Context, *Job[A]) error
}

// Work implements river.Worker.
func (w worker[A]) Work(ctx context.Context, job *Job[A]) error { return w.do(ctx, job) }

// Timeout returns the longest time of a job; 0 is the queue's own.
func (worker[A]) Timeout(job *Job[A]) time.Duration {
	if job.Args.Queue() == Fittings {
		return fittingTime
	}
	return 0
}

// Every enqueues a job at Start and then at an interval, on one replica.
func (j *Jobs) Every(interval time.Duration, args Args) {
	j.client.PeriodicJobs().Add(river.NewPeriodicJob(river.PeriodicInterval(interval),
		func() (river.JobArgs, *river.InsertOpts) { return args, &river.InsertOpts{Queue: string(args.Queue())} },
		&river.PeriodicJobOpts{RunOnStart: true}))
}

// Again is the error of a job to be worked on again after a delay.
func Again(delay time.Duration) error { return river.JobSnooze(delay) }

// Enqueue adds jobs in the transaction of what they follow from.
func (j *Jobs) Enqueue(ctx context.Context, tx *db.Tx, jobs ...Args) error {
	if len(jobs) == 0 {
		return nil
	}
	params := make([]river.InsertManyParams, len(jobs))
	for i, args := range jobs {
		params[i] = river.InsertManyParams{Args: args, InsertOpts: &river.InsertOpts{Queue: string(args.Queue()),
			Priority: priority(args), MaxAttempts: maxAttempts}}
	}
	// Not InsertManyFastTx: for a few jobs its COPY, which is planned each time, costs twice as much.
	if _, err := j.client.InsertManyTx(ctx, tx.Raw(), params); err != nil {
		return fmt.Errorf("enqueue: %w", err)
	}
	return nil
}

// Start begins to work on jobs, until Stop.
func (j *Jobs) Start(ctx context.Context) error {
	if err := j.client.Start(ctx); err != nil {
		return err
	}
	j.rescuer.start(ctx)
	return nil
}

// Stop stops taking jobs and waits for those under way. If ctx ends first,
// they are cancelled and go back to the queue.
func (j *Jobs) Stop(ctx context.Context) error {
	j.rescuer.stop()
	if err := j.client.Stop(ctx); err == nil || ctx.Err() == nil {
		return err
	}
	hard, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	return j.client.StopAndCancel(hard)
}

// retryPolicy retries soon: what fails is the database, and it comes back.
type retryPolicy struct{ clock service.Clock }

func (p retryPolicy) NextRetry(job *rivertype.JobRow) time.Time {
	return p.clock.Now().Add(retryDelay(len(job.Errors)))
}

func retryDelay(failures int) time.Duration {
	return min(time.Second<<min(failures, 5), maxRetryDelay)
}

// panicHandler counts the panics of workers, whose jobs are tried again. The queue
// logs them.
type panicHandler struct{ panicked func(Place) }

func (panicHandler) HandleError(context.Context, *rivertype.JobRow, error) *river.ErrorHandlerResult {
	return nil
}

func (h panicHandler) HandlePanic(context.Context, *rivertype.JobRow, any, string) *river.ErrorHandlerResult {
	if h.panicked != nil {
		h.panicked(AtJob)
	}
	return nil
}

// warnings passes on log records of that level and above.
type warnings struct{ slog.Handler }

func (h warnings) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && h.Handler.Enabled(ctx, level)
}

func (h warnings) WithAttrs(attrs []slog.Attr) slog.Handler {
	return warnings{h.Handler.WithAttrs(attrs)}
}

func (h warnings) WithGroup(name string) slog.Handler { return warnings{h.Handler.WithGroup(name)} }
