package db_test

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"tapeline/db"
	"tapeline/db/dbtest"
)

// formerVersion is the last migration of the release before. After a release,
// raise it, copy query/*.sql.go to testdata/former, and let rows.sql there fill
// the tables as that release does.
const formerVersion = 6

// maxWait is for how long a migration may keep the former release waiting.
const maxWait = time.Second

// Every migration runs on a database with rows of the former release while that
// serves: it loses no row, breaks no query of the former release, and lets none
// wait.
func TestMigrationsWhileTheFormerReleaseServes(t *testing.T) {
	t.Parallel()
	for _, problem := range migrateServing(t, os.DirFS("migrations")) {
		t.Error(problem)
	}
}

// The harness finds what it is there to find.
func TestMigrationHarness(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ up, want string }{
		"harmless":         {`ALTER TABLE orders ADD COLUMN extra text; CREATE INDEX extra ON orders (extra);`, ""},
		"renames a column": {`ALTER TABLE customers RENAME COLUMN name TO title;`, `column "name" does not exist`},
		"loses rows": {`ALTER TABLE orders DISABLE TRIGGER ALL; DELETE FROM download_links;`,
			"download_links: 0 rows, want 1"},
		"new constraint": {`ALTER TABLE order_events ADD COLUMN extra text NOT NULL DEFAULT '';
			ALTER TABLE order_events ALTER extra DROP DEFAULT;`, "not-null"},
		"long lock": {`LOCK TABLE orders; SELECT pg_sleep(1.5);`, "waited"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			files := fstest.MapFS{"00099_next.sql": {Data: []byte("-- +goose Up\n" + tt.up)}}
			for _, f := range glob(t, "migrations/*.sql") {
				data, err := os.ReadFile(f)
				if err != nil {
					t.Fatal(err)
				}
				files[filepath.Base(f)] = &fstest.MapFile{Data: data}
			}
			problems := strings.Join(migrateServing(t, files), "\n")
			if (problems == "") != (tt.want == "") || !strings.Contains(problems, tt.want) {
				t.Errorf("found %q, want %q", problems, tt.want)
			}
		})
	}
}

func glob(t *testing.T, pattern string) []string {
	t.Helper()
	found, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

var generatedQuery = regexp.MustCompile("(?s)= `-- name: (\\w+) :\\w+\n(.*?)`")

// formerQueries returns the queries of the former release by name: those of
// this one until there is a release.
func formerQueries(t *testing.T) map[string]string {
	t.Helper()
	files := glob(t, "testdata/former/*.sql.go")
	if len(files) == 0 {
		files = glob(t, "query/*.sql.go")
	}
	queries := map[string]string{}
	for _, f := range files {
		source, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range generatedQuery.FindAllStringSubmatch(string(source), -1) {
			queries[m[1]] = m[2]
		}
	}
	if len(queries) < 20 {
		t.Fatalf("%d queries found", len(queries))
	}
	return queries
}

// migrateServing fills a database of the former release, migrates it while
// statements of that release run, and returns what went wrong.
func migrateServing(t *testing.T, files fs.FS) (problems []string) {
	t.Helper()
	ctx := t.Context()
	store := dbtest.Open(t, dbtest.EmptyURL(t), db.Options{})
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	_, err := db.Migrate(ctx, store.Pool()) // River's tables, which ours are beside
	must(err)
	p, err := goose.NewProvider(goose.DialectPostgres, stdlib.OpenDBFromPool(store.Pool()), files,
		goose.WithTableName("schema_migrations"), goose.WithDisableGlobalRegistry(true))
	must(err)
	_, err = p.DownTo(ctx, formerVersion)
	must(err)
	rows, err := os.ReadFile("testdata/former/rows.sql")
	must(err)
	_, err = store.Pool().Exec(ctx, string(rows))
	must(err)
	tables := tablesOf(t, store)
	for _, table := range tables {
		if n := countRows(t, store, table); n != 1 {
			t.Errorf("rows.sql leaves %d rows in %s, want 1", n, table)
		}
	}

	serving, stop := context.WithCancel(ctx)
	trouble := make(chan []string)
	go func() { trouble <- serveFormer(serving, store) }()
	time.Sleep(50 * time.Millisecond) // it serves before, during and after
	if _, err := p.Up(ctx); err != nil {
		problems = append(problems, err.Error())
	}
	time.Sleep(50 * time.Millisecond)
	stop()
	problems = append(problems, <-trouble...)

	for name, sql := range formerQueries(t) {
		conn, err := store.Pool().Acquire(ctx)
		must(err)
		if _, err := conn.Conn().Prepare(ctx, "former_"+name, sql); err != nil {
			problems = append(problems, fmt.Sprintf("query %s: %v", name, err))
		}
		conn.Release()
	}
	for _, table := range tables {
		if n := countRows(t, store, table); n < 1 {
			problems = append(problems, fmt.Sprintf("%s: %d rows, want 1", table, n))
		}
	}
	return problems
}

// serveFormer writes as the former release does until ctx ends.
func serveFormer(ctx context.Context, store *db.Store) (trouble []string) {
	failed := map[string]bool{}
	for ctx.Err() == nil {
		for _, sql := range []string{
			`UPDATE orders SET updated_at = now()`,
			`INSERT INTO order_events (shop_id, order_id, event, to_status, at)
			SELECT shop_id, id, 'held', 'held', now() FROM orders`,
			`UPDATE webhook_messages SET tries = 0`,
			`SELECT count(*) FROM customers JOIN measurement_sets m ON m.customer_id = customers.id`,
		} {
			begun := time.Now()
			_, err := store.Pool().Exec(context.WithoutCancel(ctx), sql)
			if err != nil && !failed[sql] {
				failed[sql] = true
				trouble = append(trouble, fmt.Sprintf("%s: %v", sql, err))
			}
			if took := time.Since(begun); took > maxWait && !failed["wait"] {
				failed["wait"] = true
				trouble = append(trouble, fmt.Sprintf("%s waited %v", sql, took))
			}
		}
		time.Sleep(5 * time.Millisecond)
	}
	return trouble
}

func tablesOf(t *testing.T, store *db.Store) []string {
	t.Helper()
	found, err := store.Pool().Query(t.Context(), `SELECT relname::text FROM pg_class
		WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname NOT LIKE 'river%'
		AND relname <> 'schema_migrations'`)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := pgx.CollectRows(found, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return tables
}

func countRows(t *testing.T, store *db.Store, table string) (n int) {
	t.Helper()
	count := `SELECT count(*) FROM ` + pgx.Identifier{table}.Sanitize()
	if err := store.Pool().QueryRow(t.Context(), count).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}
