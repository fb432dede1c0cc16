package dbtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/wait"

	"tapeline/db/pgprivate"
)

// server finds or starts the shared server and gives its address.
func (h *host) server(ctx context.Context) (string, error) {
	if url := os.Getenv("TEST_DATABASE_URL"); url != "" {
		return url, watch(leftover{URL: url, Prefix: h.prefix})
	}
	if dockerAnswers(ctx) {
		return startContainer(ctx)
	}
	dir, err := privateDir()
	if err != nil {
		return "", err
	}
	// The watchdog first: from here on there is something to clean away.
	if err := watch(leftover{Dir: dir}); err != nil {
		return "", errors.Join(err, os.RemoveAll(dir))
	}
	s, err := pgprivate.Start(ctx, pgprivate.Options{Dir: dir, Settings: map[string]string{
		// Nothing here outlives the test program, so nothing need reach the disk.
		"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off",
		"max_connections": "300",
	}})
	if err != nil {
		return "", err
	}
	return s.URL(), nil
}

// privateDir lies where an account other than root may enter.
func privateDir() (string, error) {
	dir, err := os.MkdirTemp("", "tapeline-dbtest-")
	if err != nil {
		return "", err
	}
	return dir, os.Chmod(dir, 0o711)
}

// dockerAnswers reports whether there is a Docker engine. The library panics
// where it finds no trace of one.
func dockerAnswers(ctx context.Context) (answers bool) {
	defer func() {
		if recover() != nil {
			answers = false
		}
	}()
	provider, err := testcontainers.ProviderDocker.GetProvider()
	if err != nil {
		return false
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	return provider.Health(ctx) == nil
}

// startContainer needs no watchdog: the library starts a container that
// removes the others when the test program ends.
func startContainer(ctx context.Context) (string, error) {
	const password = "only-for-tests"
	c, err := testcontainers.Run(ctx, "postgres:17-alpine",
		testcontainers.WithEnv(map[string]string{"POSTGRES_PASSWORD": password}),
		testcontainers.WithExposedPorts("5432/tcp"),
		testcontainers.WithTmpfs(map[string]string{"/var/lib/postgresql/data": "rw"}),
		testcontainers.WithCmd("postgres", "-c", "fsync=off", "-c", "max_connections=300"),
		// The image starts the server twice, the first time only to set itself up.
		testcontainers.WithWaitStrategyAndDeadline(2*time.Minute,
			wait.ForLog("database system is ready to accept connections").WithOccurrence(2),
			wait.ForListeningPort("5432/tcp")),
	)
	if err != nil {
		return "", fmt.Errorf("container: %w", err)
	}
	host, err := c.PortEndpoint(ctx, "5432/tcp", "")
	if err != nil {
		return "", fmt.Errorf("container: %w", err)
	}
	return fmt.Sprintf("postgres://postgres:%s@%s/postgres?sslmode=disable", password, host), nil
}

// Server is a server of a test's own, to be broken. It runs with the settings
// of a real one, not with those that make tests fast.
type Server struct {
	t    testing.TB
	opts pgprivate.Options
	s    *pgprivate.Server
}

// NewServer starts a server that ends with the test. It is always a local one,
// since only that can be killed.
func NewServer(t testing.TB) *Server {
	t.Helper()
	dir, err := privateDir()
	if err != nil {
		t.Fatal(err)
	}
	return NewServerIn(t, dir)
}

// NewServerIn starts a server with its data in a folder that an account other
// than root may enter. The folder is removed at the end.
func NewServerIn(t testing.TB, dir string) *Server {
	t.Helper()
	if err := watch(leftover{Dir: dir}); err != nil {
		t.Fatal(err)
	}
	s := &Server{t: t, opts: pgprivate.Options{Dir: dir}}
	t.Cleanup(func() {
		if s.s != nil {
			s.Stop()
		}
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	s.Start()
	return s
}

// URL is the address of its database, which is empty at first. It stays the
// same over Kill, Stop and Start.
func (s *Server) URL() string { return s.s.URL() }

// Kill ends the server as a power cut would (SIGKILL). It starts again by
// itself within a second or two.
func (s *Server) Kill() {
	s.t.Helper()
	if err := syscall.Kill(s.s.PID(), syscall.SIGKILL); err != nil {
		s.t.Fatalf("kill Postgres: %v", err)
	}
}

// Stop stops the server, breaking off its sessions, until Start.
func (s *Server) Stop() {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	s.opts.Port = s.s.Port()
	if err := s.s.Stop(ctx); err != nil {
		s.t.Fatalf("stop Postgres: %v", err)
	}
	s.s = nil
}

// Start starts it again on the same data and port.
func (s *Server) Start() {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var err error
	if s.s, err = pgprivate.Start(ctx, s.opts); err != nil {
		s.t.Fatalf("start Postgres: %v", err)
	}
}
