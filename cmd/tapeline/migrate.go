package main

import (
	"context"
	"fmt"
	"io"

	"tapeline/db"
)

const migrateAbout = `
Brings the schema of the database up to date and prints the applied migrations. It may
run while the previous release serves, and from several places at once. With -check it
changes nothing: it lists the pending migrations and exits with 1 if there are any.`

func runMigrate(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var s settings
	fs := newFlags("migrate", "[flags]", migrateAbout, stderr)
	s.databaseFlags(fs)
	check := fs.Bool("check", false, "only list the pending migrations")
	if code, ok := parseSettings(fs, &s, args, stderr); !ok {
		return code
	}
	fail := func(err error) int {
		fmt.Fprintf(stderr, "tapeline migrate: %s\n", hush(err.Error()))
		return exitFaults
	}
	d, err := openDatabase(ctx, s, newLogger(stderr, s.LogLevel))
	if err != nil {
		return fail(err)
	}
	defer d.close(ctx)
	if *check {
		pending, err := db.Pending(ctx, d.Pool())
		if err != nil {
			return fail(err)
		}
		for _, step := range pending {
			fmt.Fprintln(stdout, "pending:", step)
		}
		if len(pending) > 0 {
			return exitFaults
		}
		fmt.Fprintln(stdout, "the schema is up to date")
		return exitDone
	}
	done, err := db.Migrate(ctx, d.Pool())
	for _, version := range done.River {
		fmt.Fprintln(stdout, "applied: river", version)
	}
	for _, file := range done.Ours {
		fmt.Fprintln(stdout, "applied:", file)
	}
	if err != nil {
		return fail(err)
	}
	fmt.Fprintln(stdout, "the schema is up to date")
	return exitDone
}
