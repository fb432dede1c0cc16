package legacy

import (
	"context"

	"github.com/google/uuid"

	"tapeline/db"
)

// Making is how far an order's garment is made.
type Making string

const (
	Uncut   Making = "uncut"
	Cut     Making = "cut"
	Shipped Making = "shipped"
)

// mayBecome tells what making may become; the first is a mark made by mistake
// and taken back.
var mayBecome = map[Making][]Making{
	Uncut:   {Cut, Shipped},
	Cut:     {Uncut, Shipped},
	Shipped: {Cut},
}

// MarkOrder notes how far an order's garment is made. An order must be ready to
// be cut or shipped; a mark made by mistake goes back one step. Marking again
// what is marked changes nothing.
func (s *Service) MarkOrder(ctx context.Context, caller Caller, id uuid.UUID, making Making, note string) (Order, error) {
	return s.changeOrder(ctx, caller, id, func(_ *db.Tx, c *change) error {
		was := Making(c.row.Making)
		if was == making {
			return nil
		}
		allowed := false
		for _, m := range mayBecome[was] {
			allowed = allowed || m == making
		}
		if !allowed {
			return refuse(CodeWrongState, "an order that is %s cannot become %s", was, making)
		}
		if back := making == Uncut || was == Shipped; !back {
			if err := c.allowed(string(making), StatusReady); err != nil {
				return err
			}
		}
		c.row.Making = string(making)
		c.event, c.note = string(making), note
		return nil
	})
}
