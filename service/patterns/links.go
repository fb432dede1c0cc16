package patterns

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/render"
	"tapeline/service"
	"tapeline/service/access"
	"tapeline/service/customers"
)

// Link is an address that hands out one file of an order without a key.
type Link struct {
	ID        uuid.UUID
	Revision  int
	Format    string
	Options   Options
	MaxUses   int
	Uses      int
	CreatedAt time.Time
	ExpiresAt time.Time
	RevokedAt *time.Time // nil: not revoked
}

// pdf is the format that is printed on sheets of paper.
const pdf = "pdf"

// maxLinks is the number of links that an order may have.
const maxLinks = 1000

// NewLink is a link to be created.
type NewLink struct {
	Order    uuid.UUID
	Revision int // 0: the current one
	Format   string
	Options  Options
	Lasts    time.Duration
	MaxUses  int
}

// CreateLink creates a link to one file of an order and returns its address, this
// once. The link hands out that revision whatever the order becomes, unless it is
// cancelled, and not while it is held. Options with which there is no such file fail with CodeInvalidInput.
func (s *Service) CreateLink(ctx context.Context, caller service.Caller, n NewLink) (Link, string, error) {
	format, options, err := ParseOptions(n.Format, n.Options)
	if err != nil {
		return Link{}, "", err
	}
	head, err := s.Head(ctx, caller, n.Order, n.Revision)
	if err != nil {
		return Link{}, "", err
	}
	if err := s.checkFits(ctx, head, format, options); err != nil {
		return Link{}, "", err
	}
	key, err := s.store.LinkKey(ctx, caller.Shop)
	if err != nil {
		return Link{}, "", err
	}
	encoded, err := json.Marshal(options)
	if err != nil {
		return Link{}, "", fmt.Errorf("encode options: %w", err)
	}
	now := s.cfg.Clock.Now()
	row := query.DownloadLink{ID: s.cfg.Clock.NewID(), ShopID: caller.Shop, OrderID: n.Order, Revision: head.Number,
		Format: n.Format, Options: encoded, MaxUses: n.MaxUses, CreatedBy: caller.Actor(), CreatedAt: now,
		ExpiresAt: now.Add(n.Lasts).Truncate(time.Second)}
	if err := s.store.InTx(ctx, func(tx *db.Tx) error { return insertLink(ctx, tx, caller, row) }); err != nil {
		return Link{}, "", err
	}
	expires := row.ExpiresAt.Unix()
	address := fmt.Sprintf("%s/v1/links/%s?expires=%d&signature=%s", s.cfg.PublicURL, row.ID, expires, Sign(row.ID,
		expires, key))
	l, err := linkOf(row)
	return l, address, err
}

// insertLink stores a link. It locks the order, so that calls at the same moment
// do not pass the limit together.
func insertLink(ctx context.Context, tx *db.Tx, caller service.Caller, row query.DownloadLink) error {
	status, err := tx.LockOrder(ctx, query.LockOrderParams{ShopID: row.ShopID, ID: row.OrderID})
	switch {
	case err != nil:
		return service.OrNotFound(err, "order")
	case status == statusHeld || status == statusCancelled:
		return notReady(status)
	}
	count, err := tx.CountLinks(ctx, query.CountLinksParams{ShopID: row.ShopID, OrderID: row.OrderID})
	if err != nil {
		return err
	}
	if count >= maxLinks {
		return service.Refuse(service.CodeLimitReached, "an order has at most %d links", maxLinks)
	}
	err = tx.InsertLink(ctx, query.InsertLinkParams{ID: row.ID, ShopID: row.ShopID, OrderID: row.OrderID,
		Revision: row.Revision,
		Format:   row.Format, Options: row.Options, MaxUses: row.MaxUses, CreatedBy: row.CreatedBy, CreatedAt: row.CreatedAt,
		ExpiresAt: row.ExpiresAt})
	if err != nil {
		return err
	}
	return access.Record(ctx, tx, caller, access.Action{Name: "link.created", Subject: row.ID,
		Detail: map[string]any{"order_id": row.OrderID}, At: row.CreatedAt})
}

// checkFits refuses options with which there is no file: a paper or a picture that
// the pattern is too large for. Whoever follows a link could not mend them.
func (s *Service) checkFits(ctx context.Context, head query.DraftHead, format render.Format, o Options) error {
	if !format.CanOverflow() {
		return nil
	}
	p, err := s.Pattern(ctx, head)
	if err != nil {
		return err
	}
	err = s.onCore(ctx, head.ShopID, func(ctx context.Context) error { return format.CheckFits(ctx, p, o) })
	if faults, ok := errors.AsType[service.Faults](err); ok {
		return wrongOptions(faults)
	}
	return err
}

func linkOf(row query.DownloadLink) (Link, error) {
	l := Link{ID: row.ID, Revision: row.Revision, Format: row.Format, MaxUses: row.MaxUses, Uses: row.Uses,
		CreatedAt: row.CreatedAt, ExpiresAt: row.ExpiresAt, RevokedAt: row.RevokedAt}
	if err := json.Unmarshal(row.Options, &l.Options); err != nil {
		return l, fmt.Errorf("options of link %s: %w", row.ID, err)
	}
	return l, nil
}

// Sign returns the HMAC-SHA256 of an ID and an expiry, 43 characters.
func Sign(id uuid.UUID, expires int64, key []byte) string {
	mac := hmac.New(sha256.New, key)
	mac.Write(append(id[:], strconv.FormatInt(expires, 10)...))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// Address is what a signed address says.
type Address struct {
	ID        uuid.UUID
	Expires   int64 // Unix seconds
	Signature string
}

// Signed reports whether the signature was made with a shop's key.
func (a Address) Signed(key []byte) bool {
	return hmac.Equal([]byte(a.Signature), []byte(Sign(a.ID, a.Expires, key)))
}

// Forged refuses an address with a wrong signature.
func Forged() error {
	return service.Refuse(service.CodeSignatureInvalid, "the address was not made by this service, or was changed")
}

// Handout is what a link hands out, as the person who follows it is told. It says
// nothing about the body.
type Handout struct {
	Link
	Shop, Reference string
	Garment         string      // the slug of a style or the name of a block
	Papers          []PageCount // of a PDF: what it can be printed on
}

// open checks the signature of an address. A wrong one fails with
// CodeSignatureInvalid, whether or not there is such a link.
func (s *Service) open(ctx context.Context, a Address) (query.FollowedLinkRow, error) {
	forged := Forged()
	row, err := s.store.FollowedLink(ctx, a.ID)
	switch {
	case errors.Is(err, db.ErrNotFound):
		return row, forged
	case err != nil:
		return row, err
	case !a.Signed(row.LinkKey):
		return row, forged
	}
	return row, nil
}

// Handout returns what a signed address hands out, which counts no use. If the link
// does not work now, the error says why, and the Handout still names the shop,
// unless the signature is wrong.
func (s *Service) Handout(ctx context.Context, a Address) (Handout, error) {
	row, err := s.open(ctx, a)
	if err != nil {
		return Handout{}, err
	}
	h := Handout{Shop: row.ShopName, Reference: row.Reference, Garment: row.Garment}
	if h.Link, err = linkOf(row.DownloadLink); err != nil {
		return h, err
	}
	if err := followable(row, s.cfg.Clock.Now()); err != nil || h.Format != pdf {
		return h, err
	}
	p, err := s.Pattern(ctx, headOf(row))
	if err != nil {
		return h, err
	}
	err = s.onCore(ctx, row.DownloadLink.ShopID, func(ctx context.Context) (err error) {
		h.Papers, err = countPages(ctx, p, onPaper(h.Options, ""))
		return err
	})
	return h, err
}

func headOf(row query.FollowedLinkRow) query.DraftHead {
	l := row.DownloadLink
	return query.DraftHead{OrderID: l.OrderID, Number: l.Revision, ShopID: l.ShopID, Hash: row.Hash, Label: row.Label}
}

// onPaper returns the options with another paper.
func onPaper(o Options, paper string) Options {
	o.Paper, o.Width = paper, 0 // the width is that of a roll
	return o
}

// Follow is a request for the file of a link.
type Follow struct {
	Address
	Paper string                // in place of the link's; "" keeps it
	Look  bool                  // the caller asks for the header only, which counts no use
	Has   func(tag string) bool // reports whether the caller has the file of a tag
}

// FollowLink returns the file that a signed address hands out, and counts the use
// unless the caller has the file already or only looks. A wrong signature fails
// with CodeSignatureInvalid, whether or not there is such a link.
func (s *Service) FollowLink(ctx context.Context, f Follow) (File, error) {
	row, err := s.open(ctx, f.Address)
	if err != nil {
		return File{}, err
	}
	now := s.cfg.Clock.Now()
	if err := followable(row, now); err != nil {
		return File{}, err
	}
	link, err := linkOf(row.DownloadLink)
	if err != nil {
		return File{}, err
	}
	if f.Paper != "" {
		link.Options = onPaper(link.Options, f.Paper)
	}
	format, options, err := ParseOptions(link.Format, link.Options)
	if err != nil {
		return File{}, err
	}
	file, err := s.file(ctx, headOf(row), format, options, f.Has)
	if err != nil || file.Content == nil || f.Look {
		return file, err
	}
	// Counted once the file is there, so that a failure of the service costs no use.
	_, err = s.store.UseLink(ctx, query.UseLinkParams{ID: f.ID, At: now})
	if errors.Is(err, db.ErrNotFound) {
		return File{}, usedUp()
	}
	return file, err
}

func usedUp() error {
	return service.Refuse(service.CodeLinkUsedUp, "it was fetched as often as it may be")
}

// followable returns why a link no longer works.
func followable(l query.FollowedLinkRow, now time.Time) error {
	switch link := l.DownloadLink; {
	case l.Erased:
		return customers.Erased()
	case link.RevokedAt != nil:
		return service.Refuse(service.CodeLinkRevoked, "ask the shop for another")
	case !now.Before(link.ExpiresAt):
		return service.Refuse(service.CodeLinkExpired, "ask the shop for another")
	case l.Status == statusCancelled, l.Status == statusHeld:
		return notReady(l.Status)
	case link.Uses >= link.MaxUses:
		return usedUp()
	}
	return nil
}

// Links lists an order's links, newest first.
func (s *Service) Links(ctx context.Context, caller service.Caller, order uuid.UUID) ([]Link, error) {
	if _, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: order}); err != nil {
		return nil, service.OrNotFound(err, "order")
	}
	rows, err := s.store.ListLinks(ctx, query.ListLinksParams{ShopID: caller.Shop, OrderID: order})
	if err != nil {
		return nil, err
	}
	links := make([]Link, len(rows))
	for i, row := range rows {
		if links[i], err = linkOf(row); err != nil {
			return nil, err
		}
	}
	return links, nil
}

// RevokeLink ends a link. It fails with CodeNotFound.
func (s *Service) RevokeLink(ctx context.Context, caller service.Caller, order, id uuid.UUID) error {
	now := s.cfg.Clock.Now()
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.RevokeLink(ctx, query.RevokeLinkParams{ShopID: caller.Shop, OrderID: order, ID: id, At: now})
		if err != nil {
			return service.OrNotFound(err, "link")
		}
		return access.Record(ctx, tx, caller, access.Action{Name: "link.revoked", Subject: id,
			Detail: map[string]any{"order_id": order}, At: now})
	})
}
