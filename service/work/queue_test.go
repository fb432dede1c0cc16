package work_test

import (
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"tapeline/db"
	"tapeline/db/dbtest"
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
