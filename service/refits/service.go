// Package refits applies a change of style, fit, measurements, alterations or
// program to many orders: first as a preview of what it would move, then, to the
// chosen orders, as new drafts.
package refits

import (
	"context"
	"encoding/hex"
	"log/slog"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/fittings"
	"tapeline/service/orders"
	"tapeline/service/patterns"
	"tapeline/service/styles"
	"tapeline/service/work"
)

// Config holds the settings of a Service.
type Config struct {
	Clock    service.Clock
	Cores    *work.Cores
	Jobs     *work.Jobs
	Log      *slog.Logger
	Version  string // of the program
	Styles   *styles.Service
	Patterns *patterns.Service
	Orders   *orders.Service
	Fittings *fittings.Service
}

// Service has the use cases of refits.
type Service struct {
	store *db.Store
	Config
}

// New returns the use cases on a store and registers the jobs that preview and
// apply, and that try orders on.
func New(store *db.Store, cfg Config) *Service {
	s := &Service{store: store, Config: cfg}
	work.Handle(cfg.Jobs, s.work)
	work.Handle(cfg.Jobs, s.tryNext)
	return s
}

func (s *Service) record(
	ctx context.Context, tx *db.Tx, caller service.Caller, action string, refit uuid.UUID, detail map[string]any,
) error {
	return access.Record(ctx, tx, caller,
		access.Action{Name: action, Subject: refit, Detail: detail, At: s.Clock.Now()})
}

// scriptHash decodes a script's hash, which the program wrote.
func scriptHash(text string) []byte {
	hash, err := hex.DecodeString(text)
	if err != nil {
		panic("not a hash: " + text)
	}
	return hash
}
