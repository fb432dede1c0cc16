package main

import (
	"context"
	"fmt"
	"io"
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
	d, err := s.openDatabase(ctx, newLogger(stderr, s.LogLevel), false)
	if err != nil {
		return fail(err)
	}
	defer d.Close(ctx)
	if *check {
		pending, err := d.Pending(ctx)
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
	applied, err := d.Migrate(ctx)
	for _, migration := range applied {
		fmt.Fprintln(stdout, "applied:", migration)
	}
	if err != nil {
		return fail(err)
	}
	fmt.Fprintln(stdout, "the schema is up to date")
	return exitDone
}
