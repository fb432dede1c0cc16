//go:build unix

package pgprivate

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// runnerDir makes the test program be a tapeline: it starts the server in the
// named folder, says where, and waits to be killed.
const runnerDir = "PGPRIVATE_TEST_RUN"

func TestMain(m *testing.M) {
	if dir := os.Getenv(runnerDir); dir != "" {
		s, err := Start(context.Background(), Options{Dir: dir})
		if err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		fmt.Println(s.PID(), s.URL())
		select {}
	}
	os.Exit(m.Run())
}

// runner starts another process on the folder; as is its account, nil ours.
func runner(t *testing.T, dir string, as *account) (cmd *exec.Cmd, pid int, url string) {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if as != nil { // go test's folder is not for others' eyes
		copied := filepath.Join(filepath.Dir(dir), "runner")
		b, err := os.ReadFile(program)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(copied, b, 0o755); err != nil {
			t.Fatal(err)
		}
		program = copied
	}
	cmd = exec.Command(program)
	cmd.Env = append(os.Environ(), runnerDir+"="+dir)
	cmd.Dir = "/"
	cmd.SysProcAttr = as.attributes()
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _, _ = cmd.Process.Kill(), cmd.Wait() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("runner said %q: %v", line, err)
	}
	if _, err := fmt.Sscan(line, &pid, &url); err != nil {
		t.Fatalf("runner said %q: %v", line, err)
	}
	return cmd, pid, url
}

// folderForTest lies where any account may pass, unlike t.TempDir's parents
// under some settings of umask.
func folderForTest(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "pgprivate-test-")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return filepath.Join(dir, "data")
}

func start(t *testing.T, opts Options) *Server {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	opts.Logger = slog.New(slog.NewTextHandler(t.Output(), nil))
	s, err := Start(ctx, opts)
	if err != nil {
		t.Fatalf("Start: %v", err)
	}
	t.Cleanup(func() { stop(t, s) })
	return s
}

func stop(t *testing.T, s *Server) {
	t.Helper()
	select {
	case <-s.stopped:
		return
	default:
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if err := s.Stop(ctx); err != nil {
		t.Errorf("Stop: %v", err)
	}
}

func exec1(t *testing.T, url, sql string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatalf("connect: %v", err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

func query[T any](t *testing.T, url, sql string) T {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatalf("connect: %v", err)
	}
	defer conn.Close(t.Context())
	var v T
	if err := conn.QueryRow(t.Context(), sql).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

const write, read = `CREATE TABLE stored AS SELECT 42 AS n`, `SELECT n FROM stored`

func TestDataOutlivesStopAndStart(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	first := start(t, Options{Dir: dir})
	exec1(t, first.URL(), write)

	url, err := os.ReadFile(filepath.Join(dir, "postgres.url"))
	if err != nil || strings.TrimSpace(string(url)) != first.URL() {
		t.Errorf("postgres.url holds %q (%v), want the server's URL", url, err)
	}
	stop(t, first)
	if _, err := os.Stat(filepath.Join(dir, "postgres.url")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("postgres.url is there after Stop: %v", err)
	}
	if alive(first.PID()) {
		t.Errorf("process %d lives after Stop", first.PID())
	}
	if got := query[int](t, start(t, Options{Dir: dir}).URL(), read); got != 42 {
		t.Errorf("read %d, want 42", got)
	}
}

func TestServerIsSafeByDefault(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	s := start(t, Options{Dir: dir})
	for name, want := range map[string]string{
		"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on", "data_checksums": "on",
		"listen_addresses": "127.0.0.1", "unix_socket_directories": "", "password_encryption": "scram-sha-256",
		"server_encoding": "UTF8", "log_error_verbosity": "terse", "timezone": "UTC",
	} {
		if got := query[string](t, s.URL(), "SELECT current_setting('"+name+"')"); got != want {
			t.Errorf("%s = %q, want %q", name, got, want)
		}
	}
	if _, err := pgx.Connect(t.Context(), strings.Replace(s.URL(), s.password, "guess", 1)); err == nil {
		t.Error("a wrong password opened the database")
	}
	for name, most := range map[string]os.FileMode{"postgres": 0o700, "postgres.password": 0o600, "postgres.url": 0o600,
		"postgres.log": 0o600} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil {
			t.Error(err)
		} else if info.Mode().Perm()&^most != 0 {
			t.Errorf("%s has mode %o, want at most %o", name, info.Mode().Perm(), most)
		}
	}
}

// The log must not repeat what a failed row held: names and measurements.
func TestLogHoldsNoValues(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	s := start(t, Options{Dir: dir})
	exec1(t, s.URL(), `CREATE TABLE named (name text UNIQUE CHECK (name <> 'Refused Person'))`)
	conn, err := pgx.Connect(t.Context(), s.URL())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for _, name := range []string{"Twice Person", "Twice Person", "Refused Person"} {
		_, _ = conn.Exec(t.Context(), `INSERT INTO named VALUES ($1)`, name)
	}
	log, err := os.ReadFile(filepath.Join(dir, "postgres.log"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(log), "named_name_key") {
		t.Errorf("the log does not tell of the refused row at all:\n%s", log)
	}
	if strings.Contains(string(log), "Person") {
		t.Errorf("the log repeats a name:\n%s", log)
	}
}

func TestRootIsDropped(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root: there is nothing to drop")
	}
	s := start(t, Options{Dir: folderForTest(t)})
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.PID()))
	if err != nil {
		t.Fatal(err)
	}
	uid := strconv.Itoa(int(s.account.uid))
	for line := range strings.Lines(string(status)) {
		if f := strings.Fields(line); f[0] == "Uid:" && (f[1] != uid || f[2] != uid || f[3] != uid) {
			t.Errorf("server runs as %v, want %s", f[1:], uid)
		} else if f[0] == "Groups:" && len(f) > 1 {
			t.Errorf("server keeps root's groups %v", f[1:])
		}
	}
}

func TestRunsAsAnOrdinaryUser(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root: every other test shows it")
	}
	as, err := unprivileged("nobody")
	if err != nil {
		t.Fatal(err)
	}
	dir := folderForTest(t)
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := as.give(dir); err != nil {
		t.Fatal(err)
	}
	_, pid, url := runner(t, dir, as)
	exec1(t, url, write)
	t.Cleanup(func() { _ = syscall.Kill(pid, syscall.SIGQUIT) })
}

func TestFolderThatTheAccountCannotReach(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root: the server runs as ourselves")
	}
	closed := filepath.Dir(folderForTest(t))
	if err := os.Chmod(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: filepath.Join(closed, "data")})
	if err == nil || !strings.Contains(err.Error(), "cannot enter "+closed) {
		t.Errorf("Start: %v, want it to name %s", err, closed)
	}
}

func TestSecondProcessIsTurnedAway(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	s := start(t, Options{Dir: dir})
	_, err := Start(t.Context(), Options{Dir: dir})
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), strconv.Itoa(os.Getpid())) {
		t.Errorf("second Start: %v, want ErrInUse naming process %d", err, os.Getpid())
	}
	exec1(t, s.URL(), write) // the first is none the worse
}

func TestKilledParentLeavesDataToTheNext(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	cmd, orphan, url := runner(t, dir, nil)
	exec1(t, url, write)
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if got := query[int](t, url, read); got != 42 {
		t.Fatalf("the server did not outlive its parent: read %d", got)
	}

	s := start(t, Options{Dir: dir})
	if s.PID() == orphan {
		t.Errorf("the next start left process %d", orphan)
	}
	if line, err := commandLine(orphan); err != nil || line != "" {
		t.Errorf("process %d still runs: %q, %v", orphan, line, err)
	}
	if got := query[int](t, s.URL(), read); got != 42 {
		t.Errorf("read %d, want 42", got)
	}
}

func TestEverythingKilledLeavesDataToTheNext(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	cmd, pid, url := runner(t, dir, nil)
	exec1(t, url, write)
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "postgres", "postmaster.pid")); err != nil {
		t.Fatalf("no stale pid file to test with: %v", err)
	}
	// Children of a killed server take a moment to notice; a start meanwhile is refused by Postgres.
	waitFor(t, func() bool {
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		s, err := Start(ctx, Options{Dir: dir})
		if err != nil {
			t.Logf("not yet: %v", err)
			return false
		}
		t.Cleanup(func() { stop(t, s) })
		if got := query[int](t, s.URL(), read); got != 42 {
			t.Errorf("read %d, want 42", got)
		}
		return true
	})
}

func TestKilledServerIsStartedAgain(t *testing.T) {
	t.Parallel()
	s := start(t, Options{Dir: folderForTest(t)})
	exec1(t, s.URL(), write)
	url, killed := s.URL(), s.PID()
	if err := syscall.Kill(killed, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	waitFor(t, func() bool {
		conn, err := pgx.Connect(t.Context(), url)
		if err != nil {
			return false
		}
		defer conn.Close(t.Context())
		var n int
		return conn.QueryRow(t.Context(), read).Scan(&n) == nil && n == 42
	})
	if s.PID() == killed {
		t.Error("process id did not change")
	}
}

func TestStalePIDFileOfAnotherProcess(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	stop(t, start(t, Options{Dir: dir}))
	// The number in the file now belongs to a bystander, with the server's own account so that
	// Postgres alone would refuse to start.
	bystander := exec.Command("sleep", "600")
	as, err := unprivileged("")
	if err != nil {
		t.Fatal(err)
	}
	bystander.SysProcAttr = as.attributes()
	if err := bystander.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = bystander.Wait() }()
	defer func() { _ = bystander.Process.Kill() }()
	stale := fmt.Sprintf("%d\n%s\n1700000000\n5432\n\n127.0.0.1\n\nready\n", bystander.Process.Pid, filepath.Join(dir,
		"postgres"))
	if err := os.WriteFile(filepath.Join(dir, "postgres", "postmaster.pid"), []byte(stale), 0o644); err != nil {
		t.Fatal(err)
	}
	exec1(t, start(t, Options{Dir: dir}).URL(), write)
	if line, err := commandLine(bystander.Process.Pid); err != nil || !strings.Contains(line, "sleep") {
		t.Errorf("the bystander was harmed: %q, %v", line, err)
	}
}

func TestLiveServerOfAnotherFolderIsLeftAlone(t *testing.T) {
	t.Parallel()
	other := start(t, Options{Dir: folderForTest(t)})
	dir := folderForTest(t)
	stop(t, start(t, Options{Dir: dir}))
	pidFile := filepath.Join(dir, "postgres", "postmaster.pid")
	if err := os.WriteFile(pidFile, fmt.Appendf(nil, "%d\n", other.PID()), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Start(t.Context(), Options{Dir: dir}); err == nil || !strings.Contains(err.Error(), "remove the file") {
		t.Errorf("Start: %v, want it to refuse and say what to do", err)
	}
	exec1(t, other.URL(), write)
}

func TestHalfMadeClusterIsMadeAnew(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	if err := os.MkdirAll(filepath.Join(dir, "postgres.new", "base"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "postgres.new", "PG_VERSION"), []byte("15\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	exec1(t, start(t, Options{Dir: dir}).URL(), write)
}

func TestStartGivesUpWithItsContext(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if s, err := Start(ctx, Options{Dir: dir}); err == nil {
		stop(t, s)
		t.Skip("this machine starts a server within 50 ms")
	}
	exec1(t, start(t, Options{Dir: dir}).URL(), write) // and leaves nothing in the way
}

func waitFor(t *testing.T, done func() bool) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if done() {
			return
		}
	}
	t.Fatal("waited 30 s in vain")
}
