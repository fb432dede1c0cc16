//go:build unix

package pgprivate

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"

	embeddedpostgres "github.com/fergusstrange/embedded-postgres"
)

// downloadable has the versions of the library by major version.
var downloadable = map[int]embeddedpostgres.PostgresVersion{
	15: embeddedpostgres.V15,
	16: embeddedpostgres.V16,
	17: embeddedpostgres.V17,
	18: embeddedpostgres.V18,
}

const downloadMajor = 17 // for a new data folder

// download downloads server programs into the data folder.
//
// The library has no call that only fetches: starting its server first fetches
// and unpacks. Under root that start then fails, since it runs initdb as root.
// Only the presence of the programs matters here.
func (s *Server) download(ctx context.Context, major int) (binaries, error) {
	if major == 0 {
		major = downloadMajor
	}
	version, ok := downloadable[major]
	if !ok {
		return binaries{}, fmt.Errorf("and no download of version %d is known", major)
	}
	port, err := freePort()
	if err != nil {
		return binaries{}, err
	}
	scratch, err := os.MkdirTemp("", "tapeline-postgres-download-")
	if err != nil {
		return binaries{}, err
	}
	defer os.RemoveAll(scratch)

	dir := filepath.Join(s.home.binaries(), strconv.Itoa(major))
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return binaries{}, err
	}
	config := embeddedpostgres.DefaultConfig().
		Version(version).
		Port(uint32(port)).
		CachePath(filepath.Join(scratch, "cache")).
		RuntimePath(filepath.Join(scratch, "runtime")).
		BinariesPath(dir).
		Logger(io.Discard)
	if s.opts.DownloadURL != "" {
		config = config.BinaryRepositoryURL(s.opts.DownloadURL)
	}
	s.opts.Logger.Info("downloading Postgres server programs", "version", string(version), "to", dir)
	server := embeddedpostgres.NewDatabase(config)
	errStart := server.Start()
	if errStart == nil {
		if err := server.Stop(); err != nil {
			return binaries{}, fmt.Errorf("stop the downloaded server: %w", err)
		}
	}
	b, err := inspect(ctx, filepath.Join(dir, "bin"))
	if err != nil {
		return binaries{}, fmt.Errorf("download: %w", errors.Join(errStart, os.RemoveAll(dir)))
	}
	return b, nil
}

// freePort returns a free loopback port.
func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, fmt.Errorf("free port: %w", err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}
