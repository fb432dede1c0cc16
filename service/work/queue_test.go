package work_test

import (
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"tapeline/db"
	"tapeline/db/dbtest"
	"tapeline/service"
	"tapeline/service/work"
)

type greet struct {
	Name string `json:"name"`
}

func (greet) Kind() string      { return "greet" }
func (greet) Queue() work.Queue { return work.Drafts }

func TestJobsFollowTheirTransaction(t *testing.T) {
	t.Parallel()
	store := dbtest.New(t)
	jobs, err := work.NewJobs(store, work.JobOptions{Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	var tries int
	done := make(chan string)
	work.Handle(jobs, func(ctx context.Context, job *work.Job[greet]) error {
		if tries++; tries == 1 {
			return work.Again(0)
		}
		done <- job.Args.Name
		return nil
	})
	undone := errors.New("undone")
	err = store.InTx(t.Context(), func(tx *db.Tx) error {
		return errors.Join(jobs.Enqueue(t.Context(), tx, greet{"nobody"}), undone)
	})
	if !errors.Is(err, undone) {
		t.Fatal(err)
	}
	err = store.InTx(t.Context(), func(tx *db.Tx) error { return jobs.Enqueue(t.Context(), tx, greet{"Ada"}) })
	if err != nil {
		t.Fatal(err)
	}
	if err := jobs.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	select {
	case name := <-done:
		if name != "Ada" || tries != 2 {
			t.Errorf("worked on the job of %s at try %d, want Ada's at its second", name, tries)
		}
	case <-time.After(10 * time.Second):
		t.Error("the job was not worked on")
	}
	if err := jobs.Stop(t.Context()); err != nil {
		t.Error(err)
	}
	var left int
	err = store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM river_job WHERE state <> 'completed'`).Scan(&left)
	if err != nil || left != 0 {
		t.Errorf("%d jobs are not completed, %v", left, err)
	}
}

// New jobs are stamped by the clock of all replicas. By the clock of a machine that
// is ahead, they would wait.
func TestJobsAreStampedByTheClock(t *testing.T) {
	t.Parallel()
	store := dbtest.New(t)
	clock := service.Clock{Time: func() time.Time { return time.Now().Add(-time.Hour) }}
	jobs, err := work.NewJobs(store, work.JobOptions{Log: slog.New(slog.DiscardHandler), Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	work.Handle(jobs, func(context.Context, *work.Job[greet]) error { return nil })
	err = store.InTx(t.Context(), func(tx *db.Tx) error { return jobs.Enqueue(t.Context(), tx, greet{"Ada"}) })
	if err != nil {
		t.Fatal(err)
	}
	var created, scheduled time.Time
	row := store.Pool().QueryRow(t.Context(), `SELECT created_at, scheduled_at FROM river_job`)
	if err := row.Scan(&created, &scheduled); err != nil {
		t.Fatal(err)
	}
	if off := clock.Now().Sub(scheduled); off.Abs() > time.Minute || !created.Equal(scheduled) {
		t.Errorf("created at %v, scheduled at %v, want %v", created, scheduled, clock.Now())
	}
}

// A job whose process was killed is worked on again, by the database's clock.
func TestLostJobIsRescued(t *testing.T) {
	t.Parallel()
	store := dbtest.New(t)
	jobs, err := work.NewJobs(store, work.JobOptions{Log: slog.New(slog.DiscardHandler), JobTimeout: 10 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan string, 3)
	work.Handle(jobs, func(_ context.Context, job *work.Job[greet]) error {
		done <- job.Args.Name
		return nil
	})
	err = store.InTx(t.Context(), func(tx *db.Tx) error {
		return jobs.Enqueue(t.Context(), tx, greet{"lost"}, greet{"at work"}, greet{"last"})
	})
	if err != nil {
		t.Fatal(err)
	}
	_, err = store.Pool().Exec(t.Context(), `UPDATE river_job SET state = 'running',
		attempt = CASE args ->> 'name' WHEN 'last' THEN max_attempts ELSE 1 END,
		attempted_at = now() - CASE args ->> 'name' WHEN 'at work' THEN interval '0' ELSE interval '16 seconds' END`)
	if err != nil {
		t.Fatal(err)
	}
	if err := jobs.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	select {
	case name := <-done:
		if name != "lost" {
			t.Errorf("worked on the job %q, want the lost one", name)
		}
	case <-time.After(guard):
		t.Error("the lost job was not worked on")
	}
	if err := jobs.Stop(t.Context()); err != nil {
		t.Error(err)
	}
	var states string
	err = store.Pool().QueryRow(t.Context(), `SELECT string_agg(state::text, ' ' ORDER BY id) FROM river_job`).
		Scan(&states)
	if err != nil || states != "completed running discarded" {
		t.Errorf("the jobs are %s, %v; want completed running discarded", states, err)
	}
}
