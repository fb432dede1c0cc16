package main

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
)

// database is the store of a command, with the private Postgres behind it
// where there is one.
type database struct {
	*db.Store
	private *pgprivate.Server // nil: somebody else's
}

// openDatabase opens the database that the settings name, or the private one
// in the data folder: started here, or the one of a process that has it
// running.
func openDatabase(ctx context.Context, s settings, log *slog.Logger) (*database, error) {
	d := &database{}
	address := s.Database
	if address == "" {
		server, err := pgprivate.Start(ctx, pgprivate.Options{Dir: s.Data, Logger: log})
		switch {
		case errors.Is(err, pgprivate.ErrInUse):
			if address, err = addressInUse(s.Data, err); err != nil {
				return nil, err
			}
		case err != nil:
			return nil, err
		default:
			d.private, address = server, server.URL()
		}
	}
	store, err := db.Open(ctx, address, db.Options{MaxConns: int32(s.Conns), Sealer: s.sealer})
	if err == nil {
		d.Store = store
		err = store.Ping(ctx)
	}
	if err != nil {
		return nil, errors.Join(err, d.close(ctx))
	}
	return d, nil
}

// addressInUse is where the process that has the data folder runs its server.
func addressInUse(dir string, inUse error) (string, error) {
	address, err := os.ReadFile(filepath.Join(dir, "postgres.url"))
	if err != nil {
		return "", fmt.Errorf("%w, which has no server running yet", inUse)
	}
	return strings.TrimSpace(string(address)), nil
}

// close closes the store and stops the private server.
func (d *database) close(ctx context.Context) error {
	if d.Store != nil {
		d.Store.Close()
	}
	if d.private == nil {
		return nil
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 15*time.Second)
	defer cancel()
	return d.private.Stop(stop)
}
