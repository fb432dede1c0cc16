package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tapeline/db"
	"tapeline/db/pgprivate"
	"tapeline/service"
	"tapeline/service/access"
)

// DatabaseConfig says which database to open.
type DatabaseConfig struct {
	URL      string // of a Postgres; "": a private one
	Folder   string // of the private Postgres
	Alone    bool   // refuse a folder that another process uses, instead of joining its server
	MaxConns int
	Secrets  Secrets
	Log      *slog.Logger
}

// Secrets encrypts the secrets in the database.
type Secrets = db.Sealer

// ParseSecrets reads keys: base64 of 32 bytes each, separated by commas, the
// current one first. Without a key secrets are stored unencrypted.
func ParseSecrets(keys string) (Secrets, error) { return db.NewSealer(keys) }

// Database is an open database.
type Database struct {
	store   *db.Store
	private *pgprivate.Server // nil: a server that runs by itself
}

// OpenDatabase opens a database. Without a URL it is the private one in the
// folder: the server of another process that uses the folder, or a new one. A
// process that must outlive the other asks for it alone, because the server ends
// with the process that started it.
func OpenDatabase(ctx context.Context, c DatabaseConfig) (*Database, error) {
	d := &Database{}
	url := c.URL
	if url == "" {
		server, err := pgprivate.Start(ctx, pgprivate.Options{Dir: c.Folder, Logger: c.Log})
		switch {
		case errors.Is(err, pgprivate.ErrInUse) && c.Alone:
			return nil, fmt.Errorf("%w: give each server a data folder of its own, or all of them one database (-database)",
				err)
		case errors.Is(err, pgprivate.ErrInUse):
			if url, err = urlInUse(c.Folder, err); err != nil {
				return nil, err
			}
		case err != nil:
			return nil, err
		default:
			d.private, url = server, server.URL()
		}
	}
	store, err := db.Open(ctx, url, db.Options{MaxConns: int32(c.MaxConns), Sealer: c.Secrets})
	if err == nil {
		d.store = store
		err = store.ReadClock(ctx)
	}
	if err != nil {
		return nil, errors.Join(err, d.Close(ctx))
	}
	return d, nil
}

// ErrBarred says that the account of the private Postgres cannot reach its folder.
var ErrBarred = pgprivate.ErrBarred

// CheckReach returns ErrBarred, wrapped, if the account that would run the private
// Postgres cannot reach a folder. The folder need not exist.
func CheckReach(folder string) error { return pgprivate.CheckReach(folder) }

// urlInUse returns the URL of the server that another process runs in a folder.
func urlInUse(folder string, inUse error) (string, error) {
	url, err := os.ReadFile(filepath.Join(folder, "postgres.url"))
	if err != nil {
		return "", fmt.Errorf("%w, which has no server running yet", inUse)
	}
	return strings.TrimSpace(string(url)), nil
}

// Close closes the database and stops the private server of this process. A nil
// database is closed.
func (d *Database) Close(ctx context.Context) error {
	if d == nil {
		return nil
	}
	if d.store != nil {
		d.store.Close()
	}
	if d.private == nil {
		return nil
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 15*time.Second)
	defer cancel()
	return d.private.Stop(stop)
}

// Private reports whether this process runs the private server.
func (d *Database) Private() bool { return d.private != nil }

// Access returns the use cases of shops and keys, which need no jobs.
func (d *Database) Access() *access.Service {
	return access.New(d.store, service.Clock{Time: d.store.Now})
}

// Now returns the database's time.
func (d *Database) Now() time.Time { return d.store.Now() }

// Open returns all use cases on the database.
func (d *Database) Open(cfg Config) (*App, error) { return Open(d.store, cfg) }

// Pending lists the migrations that are not applied.
func (d *Database) Pending(ctx context.Context) ([]string, error) {
	return db.Pending(ctx, d.store.Pool())
}

// Migrate brings the schema up to date and lists the applied migrations, also
// with an error.
func (d *Database) Migrate(ctx context.Context) ([]string, error) {
	done, err := db.Migrate(ctx, d.store.Pool())
	var applied []string
	for _, version := range done.River {
		applied = append(applied, fmt.Sprint("river ", version))
	}
	return append(applied, done.Ours...), err
}
