package access

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/service"
)

// A session of the workroom lasts a working day, and ends sooner if it is not used.
// OWASP's Session Management Cheat Sheet asks for both limits.
const (
	sessionLasts = 12 * time.Hour
	sessionIdles = 2 * time.Hour
)

// Session is a person at work with the pages of the workroom, signed in with a key.
type Session struct {
	ID        uuid.UUID
	Caller    service.Caller
	ShopName  string
	KeyName   string
	CreatedAt time.Time
	SeenAt    time.Time // to the minute or so
	ExpiresAt time.Time
}

// SignIn opens a session with a key of role staff or admin, and returns the token
// that stands for it. It fails with CodeUnauthenticated if the key is not valid or
// is of another role.
func (s *Service) SignIn(ctx context.Context, key string) (token string, caller service.Caller, err error) {
	caller, err = s.Authenticate(ctx, key)
	if err != nil {
		return "", caller, err
	}
	if caller.Test() {
		return "", caller, service.Refuse(service.CodeUnauthenticated,
			"the workroom takes no test key; it shows test orders to those who signed in with another")
	}
	if caller.Role != service.RoleStaff && caller.Role != service.RoleAdmin {
		return "", caller, service.Refuse(service.CodeUnauthenticated,
			"the workroom takes a key of role staff or admin; this key's is %s", caller.Role)
	}
	random := make([]byte, secretBytes)
	rand.Read(random) // never fails
	token = base64.RawURLEncoding.EncodeToString(random)
	now := s.clock.Now()
	hash := sha256.Sum256([]byte(token))
	row := query.InsertSessionParams{ID: s.clock.NewID(), KeyID: caller.Key, Hash: hash[:], CreatedAt: now,
		ExpiresAt: now.Add(sessionLasts)}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.InsertSession(ctx, row); err != nil {
			return err
		}
		return Record(ctx, tx, caller, Action{Name: "session.opened", Subject: row.ID, At: now})
	})
	return token, caller, err
}

// Session returns the session of a token. It fails with CodeUnauthenticated if
// there is none, or if it or its key has ended.
func (s *Service) Session(ctx context.Context, token string) (Session, error) {
	ended := service.Refuse(service.CodeUnauthenticated, "the session has ended: sign in again")
	hash := sha256.Sum256([]byte(token))
	row, err := s.store.SessionByHash(ctx, hash[:])
	if errors.Is(err, db.ErrNotFound) {
		return Session{}, ended
	}
	if err != nil {
		return Session{}, err
	}
	now := s.clock.Now()
	if row.APIKey.RevokedAt != nil || toKey(row.APIKey).Expired(now) ||
		!now.Before(row.Session.ExpiresAt) || now.Sub(row.Session.SeenAt) >= sessionIdles {
		return Session{}, ended
	}
	if now.Sub(row.Session.SeenAt) >= touchInterval {
		if err := s.store.TouchSession(ctx, query.TouchSessionParams{ID: row.Session.ID, At: now}); err != nil {
			return Session{}, err
		}
	}
	return Session{
		ID: row.Session.ID,
		Caller: service.Caller{Shop: row.APIKey.ShopID, TestShop: service.OrZero(row.TestShop), Key: row.APIKey.ID,
			Role: service.Role(row.APIKey.Role)},
		ShopName: row.ShopName, KeyName: row.APIKey.Name, CreatedAt: row.Session.CreatedAt, SeenAt: row.Session.SeenAt,
		ExpiresAt: row.Session.ExpiresAt,
	}, nil
}

// SignOut ends the session of a token. It does nothing if there is none.
func (s *Service) SignOut(ctx context.Context, token string) error {
	hash := sha256.Sum256([]byte(token))
	return s.store.DeleteSession(ctx, hash[:])
}

// Sessions lists the shop's sessions that have not ended, newest first.
func (s *Service) Sessions(ctx context.Context, caller service.Caller) ([]Session, error) {
	now := s.clock.Now()
	rows, err := s.store.ListSessions(ctx, query.ListSessionsParams{ShopID: caller.Shop, Now: now})
	if err != nil {
		return nil, err
	}
	var list []Session
	for _, row := range rows {
		if now.Sub(row.SeenAt) < sessionIdles {
			list = append(list, Session{ID: row.ID, Caller: service.Caller{Shop: caller.Shop, Key: row.KeyID},
				KeyName: row.KeyName, CreatedAt: row.CreatedAt, SeenAt: row.SeenAt, ExpiresAt: row.ExpiresAt})
		}
	}
	return list, nil
}

// EndSession ends a session of the shop. It fails with CodeNotFound.
func (s *Service) EndSession(ctx context.Context, caller service.Caller, id uuid.UUID) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if _, err := tx.EndSession(ctx, query.EndSessionParams{ShopID: caller.Shop, ID: id}); err != nil {
			return service.OrNotFound(err, "session")
		}
		return Record(ctx, tx, caller, Action{Name: "session.ended", Subject: id, At: s.clock.Now()})
	})
}
