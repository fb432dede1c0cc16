package db_test

import (
	"errors"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/google/uuid"

	"tapeline/db"
)

// Two transactions take the same two locks in opposite order. Postgres ends one
// of them; it runs again, and both commit.
func TestDeadlockRunsAgain(t *testing.T) {
	b := setup(t)
	one, other := b.customer.ID, b.newCustomer("C-2").ID
	var runs atomic.Int32
	var meet, done sync.WaitGroup // meet: both hold their first lock
	meet.Add(2)
	lock := func(first, second uuid.UUID) {
		own := 0
		err := b.store.InTx(t.Context(), func(tx *db.Tx) error {
			runs.Add(1)
			if err := tx.LockCustomer(t.Context(), first); err != nil {
				return err
			}
			if own++; own == 1 {
				meet.Done()
				meet.Wait()
			}
			return tx.LockCustomer(t.Context(), second)
		})
		if err != nil {
			t.Error(err)
		}
	}
	done.Go(func() { lock(one, other) })
	done.Go(func() { lock(other, one) })
	done.Wait()
	if runs.Load() != 3 {
		t.Errorf("%d runs of two transactions, one of which Postgres ends, want 3", runs.Load())
	}
}

// A refusal is no reason to run again.
func TestRefusalRunsOnce(t *testing.T) {
	b := setup(t)
	runs, refusal := 0, errors.New("no")
	err := b.store.InTx(t.Context(), func(*db.Tx) error { runs++; return refusal })
	if !errors.Is(err, refusal) || runs != 1 {
		t.Errorf("%d runs, %v", runs, err)
	}
}

// A statement outside a transaction runs again too.
func TestDeadlockOfAStatementRunsAgain(t *testing.T) {
	b := setup(t)
	_, err := b.store.Pool().Exec(t.Context(), `CREATE SEQUENCE runs; -- counts on after a rollback
		CREATE FUNCTION deadlock_once() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
			IF nextval('runs') = 1 THEN RAISE EXCEPTION 'deadlock detected' USING ERRCODE = '40P01'; END IF;
			RETURN NEW;
		END $$;
		CREATE TRIGGER deadlock_once BEFORE INSERT ON shops FOR EACH ROW EXECUTE FUNCTION deadlock_once()`)
	b.must(err)
	b.newShop("Other Row", "other-row")
	var runs int
	b.must(b.store.Pool().QueryRow(t.Context(), "SELECT last_value FROM runs").Scan(&runs))
	if runs != 2 {
		t.Errorf("%d runs of a statement that failed once, want 2", runs)
	}
}
