//go:build unix

package pgprivate

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"github.com/jackc/pgx/v5"
)

// initialize creates the cluster in a temporary folder and renames it, so that a
// process killed meanwhile leaves nothing that looks like a cluster.
func (s *Server) initialize(ctx context.Context) error {
	if _, err := os.Stat(s.home.cluster()); err == nil {
		password, err := os.ReadFile(s.home.password())
		if err != nil {
			return fmt.Errorf("private Postgres: password of %s: %w", s.home.cluster(), err)
		}
		s.password = strings.TrimSpace(string(password))
		return nil
	} else if !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("private Postgres: %w", err)
	}

	s.password = rand.Text() + rand.Text() // 2 x 128 bits or more
	if err := writeDurably(s.home.password(), s.password+"\n"); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	if err := os.RemoveAll(s.home.unfinished()); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	if err := os.Mkdir(s.home.unfinished(), 0o700); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	if err := s.account.give(s.home.unfinished()); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	if err := s.initdb(ctx); err != nil {
		return err
	}
	if err := os.Rename(s.home.unfinished(), s.home.cluster()); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	return nil
}

func (s *Server) initdb(ctx context.Context) error {
	// A copy of the password that the account can read, for as long as it takes.
	file, err := os.CreateTemp(string(s.home), "initdb-")
	if err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	defer os.Remove(file.Name())
	_, errWrite := file.WriteString(s.password)
	if err := errors.Join(errWrite, file.Close(), s.account.give(file.Name())); err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	cmd := exec.CommandContext(ctx, filepath.Join(s.binaries.dir, "initdb"),
		"-D", s.home.unfinished(), "-U", userName, "--pwfile", file.Name(),
		"--auth=scram-sha-256", "--encoding=UTF8", "--locale=C", "--data-checksums", "--no-instructions")
	cmd.Dir = s.home.unfinished()
	cmd.Env = environment()
	cmd.SysProcAttr = s.account.attributes()
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("private Postgres: initdb: %w: %s", err, lastLines(out, 5))
	}
	return nil
}

// createDatabase creates the database if it is missing.
func (s *Server) createDatabase(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.urlOf("postgres"))
	if err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var exists bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, DatabaseName).Scan(&exists)
	if err == nil && !exists {
		_, err = conn.Exec(ctx, `CREATE DATABASE `+DatabaseName)
	}
	if err != nil {
		return fmt.Errorf("private Postgres: make database: %w", err)
	}
	return nil
}

// writeDurably writes a file that only we can read and syncs it: a cluster whose
// password is lost is lost too.
func writeDurably(path, text string) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, errWrite := file.WriteString(text)
	return errors.Join(errWrite, file.Sync(), file.Close())
}

// environment returns the environment of the server's programs. It has no variable
// that would direct them to another server, and no secret.
func environment() []string {
	return []string{"PATH=" + os.Getenv("PATH"), "LC_ALL=C", "TZ=UTC"}
}

func lastLines(out []byte, n int) string {
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], " | ")
}
