//go:build unix

package pgprivate

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestFind(t *testing.T) {
	t.Parallel()
	root := t.TempDir()
	install := func(name, version string) {
		dir := filepath.Join(root, name, "bin")
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		for _, program := range []string{"postgres", "initdb"} {
			script := "#!/bin/sh\necho '" + version + "'\n"
			if err := os.WriteFile(filepath.Join(dir, program), []byte(script), 0o755); err != nil {
				t.Fatal(err)
			}
		}
	}
	install("13", "postgres (PostgreSQL) 13.4")
	install("15", "postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)")
	install("17", "postgres (PostgreSQL) 17.0")
	install("odd", "something else")
	if err := os.MkdirAll(filepath.Join(root, "empty", "bin"), 0o755); err != nil {
		t.Fatal(err)
	}
	places := []string{filepath.Join(root, "*", "bin"), filepath.Join(root, "15", "bin"), "/nowhere/*/bin"}
	for _, tt := range []struct {
		major int
		want  string // "" for none
		says  string
	}{
		{0, "17", ""},
		{15, "15", ""},
		{13, "13", ""}, // an old data folder is still served
		{16, "", "17 in"},
	} {
		b, err := find(t.Context(), places, tt.major)
		if tt.want == "" {
			if !errors.Is(err, ErrNoBinaries) || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("version %d: %v, %v, want ErrNoBinaries saying %q", tt.major, b, err, tt.says)
			}
		} else if err != nil || b.dir != filepath.Join(root, tt.want, "bin") {
			t.Errorf("version %d: %v, %v, want %s", tt.major, b, err, tt.want)
		}
	}
	if _, err := find(t.Context(), []string{filepath.Join(root, "13", "bin")}, 0); !errors.Is(err, ErrNoBinaries) {
		t.Errorf("only too old a version: %v, want ErrNoBinaries", err)
	}
	if _, err := find(t.Context(), []string{"/nowhere"}, 0); !errors.Is(err, ErrNoBinaries) {
		t.Errorf("none at all: %v, want ErrNoBinaries", err)
	}
}

func TestDataFolderOfAnotherVersion(t *testing.T) {
	t.Parallel()
	dir := folderForTest(t)
	stop(t, start(t, Options{Dir: dir}))
	if err := os.WriteFile(filepath.Join(dir, "postgres", "PG_VERSION"), []byte("9\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	local, err := FindBinaries(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Start(t.Context(), Options{Dir: dir, BinDir: local})
	if err == nil || !strings.Contains(err.Error(), "the data folder has version 9") {
		t.Errorf("Start: %v, want it to name the version", err)
	}
}

// The download is tried for real against a repository on loopback, which hands
// out this machine's own server programs, packed as the real one packs them.
func TestDownload(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("xz"); err != nil {
		t.Skipf("no xz to pack with: %v", err)
	}
	local, err := FindBinaries(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	b, err := inspect(t.Context(), local)
	if err != nil {
		t.Fatal(err)
	}
	packed := filepath.Join(t.TempDir(), "postgres.txz")
	tar := exec.Command("tar", "-C", filepath.Dir(local), "-c", "--use-compress-program=xz -0", "--exclude=lib/bitcode",
		"--exclude=lib/pgxs", "-f", packed,
		"bin/postgres", "bin/initdb", "bin/pg_ctl", "lib")
	if out, err := tar.CombinedOutput(); err != nil {
		t.Fatalf("tar: %v: %s", err, out)
	}
	archive, err := os.ReadFile(packed)
	if err != nil {
		t.Fatal(err)
	}
	var jar bytes.Buffer
	z := zip.NewWriter(&jar)
	w, err := z.Create("postgres.txz")
	if err == nil {
		_, err = w.Write(archive)
	}
	if err := errors.Join(err, z.Close()); err != nil {
		t.Fatal(err)
	}
	var damaged bool
	repository := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasSuffix(r.URL.Path, ".sha256") {
			sum := sha256.Sum256(jar.Bytes())
			if damaged {
				sum[0]++
			}
			fmt.Fprintf(w, "%x", sum)
			return
		}
		_, _ = w.Write(jar.Bytes())
	}))
	t.Cleanup(repository.Close)

	dir := folderForTest(t)
	fetch := func() (binaries, error) {
		account, err := unprivileged("")
		if err != nil {
			t.Fatal(err)
		}
		home, err := openFolder(dir, account)
		if err != nil {
			t.Fatal(err)
		}
		s := &Server{home: home, account: account, opts: Options{DownloadURL: repository.URL,
			Logger: slog.New(slog.DiscardHandler)}}
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		return s.download(ctx, b.major)
	}
	damaged = true
	if got, err := fetch(); err == nil {
		t.Errorf("a damaged download was taken: %v", got)
	}
	damaged = false
	got, err := fetch()
	if err != nil {
		t.Fatal(err)
	}
	if want := filepath.Join(dir, "binaries", fmt.Sprint(b.major), "bin"); got.dir != want || got.major != b.major {
		t.Errorf("downloaded %v, want %s", got, want)
	}
	exec1(t, start(t, Options{Dir: dir, BinDir: got.dir}).URL(), write)
}
