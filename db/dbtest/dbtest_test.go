package dbtest

import (
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tapeline/db"
)

func TestEachTestHasItsOwnDatabase(t *testing.T) {
	t.Parallel()
	a, b := New(t), New(t)
	if _, err := a.Pool().Exec(t.Context(), `CREATE TABLE only_in_a ()`); err != nil {
		t.Fatal(err)
	}
	var there bool
	err := b.Pool().QueryRow(t.Context(), `SELECT to_regclass('only_in_a') IS NOT NULL`).Scan(&there)
	if err != nil || there {
		t.Errorf("the other database has the table: %v, %v", there, err)
	}
	err = b.Pool().QueryRow(t.Context(), `SELECT to_regclass('orders') IS NOT NULL`).Scan(&there)
	if err != nil || !there {
		t.Errorf("the database is migrated: %v, %v", there, err)
	}
}

func TestDatabaseIsDroppedAfterwards(t *testing.T) {
	t.Parallel()
	var url string
	t.Run("inner", func(t *testing.T) { url = URL(t) })
	if conn, err := pgx.Connect(t.Context(), url); err == nil {
		conn.Close(t.Context())
		t.Error("the database is still there")
	}
}

func TestServerComesBackAfterKill(t *testing.T) {
	t.Parallel()
	s := NewServer(t)
	store := Open(t, s.URL(), db.Options{})
	if _, err := store.Pool().Exec(t.Context(), `CREATE TABLE stored AS SELECT 1 AS n`); err != nil {
		t.Fatal(err)
	}
	for _, breakIt := range []func(){s.Kill, func() { s.Stop(); s.Start() }} {
		breakIt()
		var n int
		for end := time.Now().Add(30 * time.Second); n != 1 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
			_ = store.Pool().QueryRow(t.Context(), `SELECT n FROM stored`).Scan(&n)
		}
		if n != 1 {
			t.Fatal("the server did not come back with its data in 30 s")
		}
	}
}

// panicVariable makes this program one that starts a server and panics.
const panicVariable = "DBTEST_TEST_PANIC"

func TestMain(m *testing.M) {
	if os.Getenv(panicVariable) != "" {
		h, err := startHost(context.Background())
		if err != nil {
			panic(err)
		}
		os.Stdout.WriteString("database " + h.urlOf(h.template) + "\n")
		panic("on purpose")
	}
	os.Exit(m.Run())
}

func TestNothingIsLeftByAPanic(t *testing.T) {
	t.Parallel()
	for _, external := range []bool{false, true} {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), panicVariable+"=1")
		if external {
			cmd.Env = append(cmd.Env, "TEST_DATABASE_URL="+NewServer(t).URL())
		}
		out, err := cmd.CombinedOutput()
		if err == nil {
			t.Fatalf("the other program did not panic:\n%s", out)
		}
		_, rest, found := strings.Cut(string(out), "database ")
		url, _, _ := strings.Cut(rest, "\n")
		if !found {
			t.Fatalf("the other program made no database:\n%s", out)
		}
		gone := false
		for end := time.Now().Add(20 * time.Second); !gone && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
			conn, err := pgx.Connect(context.Background(), url)
			if err == nil {
				conn.Close(context.Background())
			}
			gone = err != nil
		}
		if !gone {
			t.Errorf("external server %v: the database is still there 20 s later", external)
		}
	}
}
