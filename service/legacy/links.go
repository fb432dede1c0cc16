package legacy

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"tapeline/service/customers"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/drafting/render"
)

// Link is an address that hands out one file of an order without a key.
type Link struct {
	db.Link
	Asked render.Options
}

// mostLinks is how many links an order may have.
const mostLinks = 1000

// NewLink is a link to be made.
type NewLink struct {
	Order    uuid.UUID
	Revision int // 0: the current one
	Format   string
	Options  render.Options
	Lasts    time.Duration
	MaxUses  int
}

// CreateLink makes a link to one file of an order and gives its address, this
// once. It hands out that revision whatever becomes of the order, unless the
// order is cancelled.
func (s *Service) CreateLink(ctx context.Context, caller Caller, n NewLink) (Link, string, error) {
	format, options, err := asked(n.Format, n.Options)
	if err != nil {
		return Link{}, "", err
	}
	head, err := s.patternHead(ctx, caller, n.Order, n.Revision)
	if err != nil {
		return Link{}, "", err
	}
	// A file that cannot be made is told of now, not to whoever follows the link.
	if _, err := s.file(ctx, head.DraftHead, format, FileRequest{Format: n.Format, Options: options}); err != nil {
		return Link{}, "", err
	}
	key, err := s.store.LinkKey(ctx, caller.Shop)
	if err != nil {
		return Link{}, "", err
	}
	now := s.now()
	row := db.Link{ID: s.newID(), ShopID: caller.Shop, OrderID: n.Order, Revision: head.Number, Format: n.Format, Options: encode(options),
		MaxUses: n.MaxUses, CreatedBy: actor(caller), CreatedAt: now, ExpiresAt: now.Add(n.Lasts).Truncate(time.Second)}
	err = s.store.InTx(ctx, func(tx *db.Tx) error {
		there, err := tx.Links(ctx, caller.Shop, n.Order)
		if err != nil {
			return err
		}
		if len(there) >= mostLinks {
			return refuse(CodeLimitReached, "an order has at most %d links", mostLinks)
		}
		if err := tx.InsertLink(ctx, row); err != nil {
			return err
		}
		return audit(ctx, tx, caller, s.now(), "link.created", row.ID, map[string]any{"order_id": n.Order})
	})
	return Link{row, options}, s.linkAddress(row, key), err
}

func (s *Service) linkAddress(l db.Link, key []byte) string {
	return fmt.Sprintf("%s/v1/links/%s?expires=%d&signature=%s", s.cfg.PublicURL, l.ID, l.ExpiresAt.Unix(), sign(l.ID, l.ExpiresAt.Unix(), key))
}

// sign is the HMAC-SHA256 of a link's id and expiry, 43 characters.
func sign(id uuid.UUID, expires int64, key []byte) string {
	mac := hmac.New(sha256.New, key)
	mac.Write(append(id[:], strconv.FormatInt(expires, 10)...))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// FollowLink gives the file that a signed address hands out, and counts the
// use unless the caller has the file already. A signature that does not hold
// fails with CodeSignatureInvalid, whether there is such a link or not.
func (s *Service) FollowLink(ctx context.Context, id uuid.UUID, expires int64, signature string, has func(string) bool) (File, error) {
	forged := refuse(CodeSignatureInvalid, "the address was not made by this service, or was changed")
	link, err := s.store.FollowedLink(ctx, id)
	if errors.Is(err, db.ErrNotFound) {
		return File{}, forged
	}
	if err != nil {
		return File{}, err
	}
	if !hmac.Equal([]byte(signature), []byte(sign(id, expires, link.LinkKey))) {
		return File{}, forged
	}
	now := s.now()
	if err := followable(link, now); err != nil {
		return File{}, err
	}
	r := FileRequest{Order: link.OrderID, Revision: link.Revision, Format: link.Format, Has: has}
	if err := json.Unmarshal(link.Options, &r.Options); err != nil {
		return File{}, fmt.Errorf("options of link %s: %w", id, err)
	}
	format, err := render.ParseFormat(link.Format)
	if err != nil {
		return File{}, fmt.Errorf("format of link %s: %w", id, err)
	}
	head := db.DraftHead{OrderID: link.OrderID, Number: link.Revision, ShopID: link.ShopID, Hash: link.Hash, Label: link.Label}
	f, err := s.file(ctx, head, format, r)
	if err != nil || f.Content == nil {
		return f, err
	}
	// Counted once the file is there, so that a failure of ours costs no use.
	if err := s.store.UseLink(ctx, id, now); errors.Is(err, db.ErrNotFound) {
		return File{}, refuse(CodeLinkUsedUp, "it was fetched as often as it may be")
	} else if err != nil {
		return File{}, err
	}
	return f, nil
}

// followable says why a link no longer works.
func followable(l db.FollowedLink, now time.Time) error {
	switch {
	case l.RevokedAt != nil:
		return refuse(CodeLinkRevoked, "ask the shop for another")
	case !now.Before(l.ExpiresAt):
		return refuse(CodeLinkExpired, "ask the shop for another")
	case l.Erased:
		return customers.Erased()
	case Status(l.Status) == StatusCancelled:
		return notHandedOut(StatusCancelled)
	case l.Uses >= l.MaxUses:
		return refuse(CodeLinkUsedUp, "it was fetched as often as it may be")
	}
	return nil
}

// Links lists an order's links, newest first.
func (s *Service) Links(ctx context.Context, caller Caller, order uuid.UUID) ([]Link, error) {
	if _, err := s.Order(ctx, caller, order); err != nil {
		return nil, err
	}
	rows, err := s.store.Links(ctx, caller.Shop, order)
	if err != nil {
		return nil, err
	}
	links := make([]Link, len(rows))
	for i, row := range rows {
		links[i].Link = row
		if err := json.Unmarshal(row.Options, &links[i].Asked); err != nil {
			return nil, fmt.Errorf("options of link %s: %w", row.ID, err)
		}
	}
	return links, nil
}

// RevokeLink ends a link.
func (s *Service) RevokeLink(ctx context.Context, caller Caller, order, id uuid.UUID) error {
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		if err := tx.RevokeLink(ctx, caller.Shop, order, id, s.now()); err != nil {
			return orNotFound(err, "link")
		}
		return audit(ctx, tx, caller, s.now(), "link.revoked", id, map[string]any{"order_id": order})
	})
}
