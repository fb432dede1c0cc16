// Package patterns has the use cases of a drafted pattern: its files, its lay
// plans, pictures of what changed, and the links that hand out a file without a
// key.
//
// A file is a function of the stored document, the label of its revision and the
// options: the same bytes for the same tag, and no file is stored.
package patterns

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/document"
	"tapeline/drafting/finish"
	"tapeline/service"
	"tapeline/service/cache"
	"tapeline/service/customers"
	"tapeline/service/work"
)

// Config holds the settings of a Service.
type Config struct {
	Clock     service.Clock
	Cores     *work.Cores
	Version   string                                  // of the program, part of every tag
	PublicURL string                                  // of the API, without a slash at the end
	Rendered  func(format string, took time.Duration) // called after a file was rendered
}

// Service has the use cases of patterns.
type Service struct {
	store *db.Store
	cfg   Config
	cache cache.Cache[cached]

	layPlans, comparisons, prints *work.AtOnce
}

// New returns the use cases on a store.
func New(store *db.Store, cfg Config) *Service {
	return &Service{store: store, cfg: cfg, cache: cache.New(cacheBytes, cached.weight),
		layPlans: work.NewAtOnce("lay plans", 4), comparisons: work.NewAtOnce("comparisons", 4),
		prints: work.NewAtOnce("prints", 2)}
}

// onCore runs work that the caller waits for, until the caller is gone.
func (s *Service) onCore(ctx context.Context, shop uuid.UUID, do func(context.Context) error) error {
	return s.cfg.Cores.Do(ctx, work.Request, shop, do)
}

// Record is a draft as it is stored: the document, which its hash names, and
// beside it the label. The revision's number is in neither, so that a draft equals
// the one before it if nothing changed.
type Record struct {
	Pattern  finish.Pattern
	Document []byte
	Hash     [32]byte
	Label    json.RawMessage
	Checks   json.RawMessage
	document document.Document
}

// NewRecord encodes a draft.
func NewRecord(p finish.Pattern) (Record, error) {
	d := document.New(p)
	encoded, err := d.Encode()
	if err != nil {
		return Record{}, err
	}
	label := document.Label(p.Label)
	label.Revision = 0
	r := Record{Pattern: p, Document: encoded, Hash: document.Hash(encoded), document: d}
	if r.Label, err = json.Marshal(label); err != nil {
		return Record{}, fmt.Errorf("encode label: %w", err)
	}
	if r.Checks, err = json.Marshal(document.Checks(p.Checks)); err != nil {
		return Record{}, fmt.Errorf("encode checks: %w", err)
	}
	return r, nil
}

// Equals reports whether a stored draft has the same document and label.
func (r Record) Equals(hash []byte, label json.RawMessage) bool {
	var other document.Label
	if !bytes.Equal(r.Hash[:], hash) || json.Unmarshal(label, &other) != nil {
		return false
	}
	encoded, err := json.Marshal(other)
	return err == nil && bytes.Equal(encoded, r.Label)
}

// Decode reads a stored document.
func Decode(encoded []byte) (finish.Pattern, error) {
	d, err := document.Decode(encoded)
	if err != nil {
		return finish.Pattern{}, fmt.Errorf("stored draft: %w", err)
	}
	return d.Pattern(), nil
}

// Head returns the draft of an order that may be handed out; revision 0 is the
// current one of a ready order. The drafts of a held order are for the staff alone. It fails with CodePatternNotReady,
// CodeOrderCancelled or CodeErased.
func (s *Service) Head(ctx context.Context, caller service.Caller, order uuid.UUID, revision int) (query.DraftHead,
	error) {
	found, err := s.store.DraftHead(ctx, query.DraftHeadParams{ShopID: caller.Shop, OrderID: order, Number: revision})
	if errors.Is(err, db.ErrNotFound) {
		o, err := s.store.Order(ctx, query.OrderParams{ShopID: caller.Shop, ID: order})
		switch {
		case err != nil:
			return query.DraftHead{}, service.OrNotFound(err, "order")
		case revision > 0:
			return query.DraftHead{}, service.NotFound("draft revision")
		}
		return query.DraftHead{}, notReady(o.Status)
	}
	switch status := found.Status; {
	case err != nil:
		return query.DraftHead{}, err
	case found.DraftHead.ErasedAt != nil:
		return query.DraftHead{}, customers.Erased()
	case status == statusCancelled, status == statusHeld && caller.Role == service.RoleShop,
		revision == 0 && status != statusReady:
		return query.DraftHead{}, notReady(status)
	}
	return found.DraftHead, nil
}

// The states of an order that decide about its pattern, as package orders, which
// uses this one, defines them.
const (
	statusReceived  = "received"
	statusHeld      = "held"
	statusReady     = "ready"
	statusCancelled = "cancelled"
)

// notReady says why an order's pattern is not handed out now.
func notReady(status string) error {
	switch status {
	case statusCancelled:
		return service.Refuse(service.CodeOrderCancelled, "a cancelled order's pattern is not handed out")
	case statusReceived:
		return &service.Error{Code: service.CodePatternNotReady, Detail: "the order is waiting to be drafted",
			RetryAfter: time.Second}
	default:
		return service.Refuse(service.CodePatternNotReady, "the order is %s", status)
	}
}

// Pattern returns a draft with its label. It fails with CodeErased if the customer
// was just erased.
func (s *Service) Pattern(ctx context.Context, head query.DraftHead) (finish.Pattern, error) {
	if head.Label == nil {
		return finish.Pattern{}, customers.Erased()
	}
	label, err := labelOf(head)
	if err != nil {
		return finish.Pattern{}, err
	}
	key := cacheKey(head.Hash, label)
	if c, ok := s.cache.GetIfPresent(key); ok {
		return c.pattern, nil
	}
	d, err := s.store.DraftRevision(ctx,
		query.DraftRevisionParams{ShopID: head.ShopID, OrderID: head.OrderID, Number: head.Number})
	if err != nil {
		return finish.Pattern{}, service.OrNotFound(err, "draft revision")
	}
	if d.ErasedAt != nil {
		return finish.Pattern{}, customers.Erased()
	}
	p, err := Decode(d.Document)
	if err != nil {
		return finish.Pattern{}, err
	}
	p.Label = label
	s.cache.Set(key, cached{p, len(d.Document)})
	return p, nil
}

// FileName returns a name that every system accepts, made of the order's reference
// and another part, if any.
func FileName(reference, part string) string {
	plain := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		default:
			return '-'
		}
	}, reference)
	return strings.Trim(strings.Trim(plain, "-.")+"-"+part, "-.")
}
