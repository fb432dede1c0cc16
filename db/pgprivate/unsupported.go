//go:build !unix

package pgprivate

import (
	"context"
	"errors"
	"log/slog"
)

// Options are those of the server on Unix.
type Options struct {
	Dir    string
	Logger *slog.Logger
}

// Server is never made on this system.
type Server struct{}

// ErrInUse is never returned on this system.
var ErrInUse = errors.New("data folder is in use")

// ErrBarred is never returned on this system.
var ErrBarred = errors.New("data folder out of reach")

// CheckReach returns nil.
func CheckReach(string) error { return nil }

// Start returns an error: the private server needs Unix.
func Start(context.Context, Options) (*Server, error) {
	return nil, errors.New("a private Postgres needs Linux, macOS or BSD: set DATABASE_URL to a server")
}

// URL returns "".
func (*Server) URL() string { return "" }

// Port returns 0.
func (*Server) Port() int { return 0 }

// PID returns 0.
func (*Server) PID() int { return 0 }

// Stop returns nil.
func (*Server) Stop(context.Context) error { return nil }
