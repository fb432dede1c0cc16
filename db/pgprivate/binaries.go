//go:build unix

package pgprivate

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
)

// binaries are the server programs of one major version.
type binaries struct {
	dir   string
	major int
}

// oldest is the oldest major version with which the queries and settings were
// tested.
const oldest = 15

// ErrNoBinaries says that no server programs are on this machine.
var ErrNoBinaries = errors.New("no Postgres server programs found on this machine")

// usualPlaces returns patterns of the folders where packages install server
// programs.
func usualPlaces() []string {
	places := []string{
		"/usr/lib/postgresql/*/bin",      // Debian, Ubuntu, Alpine
		"/usr/pgsql-*/bin",               // the project's own RPMs
		"/usr/lib/postgresql*/bin",       // SUSE
		"/usr/local/pgsql/bin",           // built from source
		"/usr/local/opt/postgresql*/bin", // Homebrew on Intel
		"/opt/homebrew/opt/postgresql*/bin",
		"/home/linuxbrew/.linuxbrew/opt/postgresql*/bin",
		"/Applications/Postgres.app/Contents/Versions/*/bin",
		"/usr/local/bin", // BSD ports
	}
	if initdb, err := exec.LookPath("initdb"); err == nil {
		if program, err := filepath.EvalSymlinks(initdb); err == nil {
			places = append(places, filepath.Dir(program))
		}
		places = append(places, filepath.Dir(initdb))
	}
	return places
}

// FindBinaries looks for server programs in the usual places and returns
// their folder: those of the given major version, or with 0 the newest. The error
// is ErrNoBinaries, wrapped with the versions found.
func FindBinaries(ctx context.Context, major int) (string, error) {
	found, err := find(ctx, usualPlaces(), major)
	return found.dir, err
}

func find(ctx context.Context, places []string, major int) (binaries, error) {
	var all []binaries
	for _, place := range places {
		dirs, _ := filepath.Glob(place) // the patterns are ours and well-formed
		for _, dir := range dirs {
			if b, err := inspect(ctx, dir); err == nil && !slices.Contains(all, b) {
				all = append(all, b)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b binaries) int { return cmp.Compare(b.major, a.major) })
	var others []string
	for _, b := range all {
		if b.major == major || major == 0 && b.major >= oldest {
			return b, nil
		}
		others = append(others, fmt.Sprintf("%d in %s", b.major, b.dir))
	}
	wanted := fmt.Sprintf("version %d or later", oldest)
	if major != 0 {
		wanted = fmt.Sprintf("version %d, the version of the data folder", major)
	}
	if len(others) == 0 {
		return binaries{}, fmt.Errorf("%w (wanted %s)", ErrNoBinaries, wanted)
	}
	return binaries{}, fmt.Errorf("%w of %s, only %s", ErrNoBinaries, wanted, strings.Join(others, ", "))
}

var versionPattern = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// inspect asks the programs in a folder for their version.
func inspect(ctx context.Context, dir string) (binaries, error) {
	if _, err := os.Stat(filepath.Join(dir, "initdb")); err != nil {
		return binaries{}, err
	}
	out, err := exec.CommandContext(ctx, filepath.Join(dir, "postgres"), "--version").Output()
	if err != nil {
		return binaries{}, fmt.Errorf("%s: %w", dir, err)
	}
	match := versionPattern.FindSubmatch(out)
	if match == nil {
		return binaries{}, fmt.Errorf("%s: postgres gives no version", dir)
	}
	major, err := strconv.Atoi(string(match[1]))
	return binaries{dir: dir, major: major}, err
}

// findBinaries returns the programs in the given folder, otherwise those of the
// machine, otherwise those of an earlier or a new download.
func (s *Server) findBinaries(ctx context.Context) (binaries, error) {
	major, err := s.home.majorVersion()
	if err != nil {
		return binaries{}, err
	}
	if s.opts.BinDir != "" {
		b, err := inspect(ctx, s.opts.BinDir)
		if err != nil {
			return binaries{}, fmt.Errorf("private Postgres: %w", err)
		}
		if major != 0 && b.major != major {
			return binaries{}, fmt.Errorf("private Postgres: %s holds version %d, the data folder has version %d",
				s.opts.BinDir, b.major, major)
		}
		return b, nil
	}
	local, errLocal := find(ctx, usualPlaces(), major)
	if errLocal == nil {
		return local, nil
	}
	folders := filepath.Join(s.home.binaries(), "*", "bin")
	if b, err := find(ctx, []string{folders}, major); err == nil {
		return b, nil
	}
	downloaded, err := s.download(ctx, major)
	if err != nil {
		return binaries{}, fmt.Errorf("private Postgres: %w; %w. Install PostgreSQL %s, or set DATABASE_URL to a server",
			errLocal, err, hint())
	}
	return downloaded, nil
}

func hint() string {
	switch runtime.GOOS {
	case "darwin":
		return "(brew install postgresql)"
	case "linux":
		return "(package postgresql)"
	}
	return ""
}

// majorVersion returns the version of the cluster, 0 if there is none yet.
func (f folder) majorVersion() (int, error) {
	b, err := os.ReadFile(filepath.Join(f.cluster(), "PG_VERSION"))
	if errors.Is(err, os.ErrNotExist) {
		return 0, nil
	} else if err != nil {
		return 0, fmt.Errorf("private Postgres: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(b)))
	if err != nil {
		return 0, fmt.Errorf("private Postgres: %s/PG_VERSION holds %q", f.cluster(), b)
	}
	return major, nil
}
