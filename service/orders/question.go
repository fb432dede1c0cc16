package orders

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/patterns"
)

// Ask makes an address at which the customer of a held order says whether the
// numbers in doubt are right. It returns the address, this once, and when it
// expires. It fails with CodeWrongState unless the order is held for its numbers.
func (s *Service) Ask(
	ctx context.Context, caller service.Caller, order uuid.UUID, lasts time.Duration,
) (address string, expires time.Time, err error) {
	key, err := s.store.LinkKey(ctx, caller.Shop)
	if err != nil {
		return "", expires, err
	}
	id, now := s.Clock.NewID(), s.Clock.Now()
	expires = now.Add(lasts).Truncate(time.Second)
	_, err = s.change(ctx, caller, order, func(tx *db.Tx, c *change) error {
		if err := askable(c.row); err != nil {
			return err
		}
		c.event = "asked"
		return tx.InsertQuestion(ctx, query.InsertQuestionParams{ID: id, ShopID: caller.Shop, OrderID: order,
			MeasurementSetID: c.row.MeasurementSetID, CreatedBy: caller.Actor(), CreatedAt: now, ExpiresAt: expires})
	})
	address = fmt.Sprintf("%s/customer/questions/%s?expires=%d&signature=%s", s.PublicURL, id, expires.Unix(),
		patterns.Sign(id, expires.Unix(), key))
	return address, expires, err
}

// askable refuses to ask the customer of an order that is not held for its numbers.
func askable(row query.ShopOrder) error {
	if Status(row.Status) != Held || row.ReasonCode == nil || Reason(*row.ReasonCode) != Implausible {
		return service.Refuse(service.CodeWrongState,
			"a customer can be asked only about an order that is held because some measurements do not go together")
	}
	return nil
}

// Question is a question to a customer about an order.
type Question struct {
	Shop, Reference string
	Unit            string
	Numbers         []Doubtful
	ExpiresAt       time.Time
}

// Doubtful is a number in doubt, or a doubt about the numbers as a whole.
type Doubtful struct {
	Name     string // of the measurement; "" for the numbers as a whole
	Title    string // in words
	Given    string // with its unit
	Question string
	How      string // how to take the measure
	Angle    bool   // in degrees, whatever the unit
}

// Question returns what a signed address asks. It fails with CodeSignatureInvalid,
// CodeLinkExpired, CodeLinkUsedUp once it is answered, or CodeWrongState if the shop
// has settled the matter; the Question names the shop unless the signature is wrong.
func (s *Service) Question(ctx context.Context, a patterns.Address) (Question, error) {
	q, _, _, err := s.question(ctx, a)
	return q, err
}

func (s *Service) question(
	ctx context.Context, a patterns.Address,
) (q Question, asked query.Question, row query.ShopOrder, err error) {
	found, err := s.store.AskedQuestion(ctx, a.ID)
	if errors.Is(err, db.ErrNotFound) || err == nil && !a.Signed(found.LinkKey) {
		err = patterns.Forged()
	}
	if err != nil {
		return q, asked, row, err
	}
	asked = found.Question
	row, err = s.store.Order(ctx, query.OrderParams{ShopID: asked.ShopID, ID: asked.OrderID})
	if err != nil {
		return q, asked, row, err
	}
	q = Question{Shop: found.ShopName, Reference: row.Reference, ExpiresAt: asked.ExpiresAt}
	if err := answerable(asked, row, s.Clock.Now()); err != nil {
		return q, asked, row, err
	}
	o, err := Decode(row)
	if err != nil {
		return q, asked, row, err
	}
	set, err := customers.SetOf(ctx, s.store.Queries, service.Caller{Shop: asked.ShopID}, o.CustomerID, o.MeasurementSetID)
	q.Unit = set.Unit
	for _, f := range o.doubts() {
		d := Doubtful{Given: f.Value, Question: f.Accepted}
		if info, ok := body.Lookup(body.Name(f.Field[strings.LastIndex(f.Field, "/")+1:])); ok {
			d.Name, d.Title, d.How, d.Angle = string(info.Name), info.Title, info.How, info.Unit == body.Degree
		}
		q.Numbers = append(q.Numbers, d)
	}
	return q, asked, row, err
}

// answerable refuses an answer to a question that is over.
func answerable(q query.Question, row query.ShopOrder, now time.Time) error {
	switch {
	case Status(row.Status) == Cancelled:
		return service.Refuse(service.CodeOrderCancelled, "the order was cancelled")
	case q.AnsweredAt != nil:
		return service.Refuse(service.CodeLinkUsedUp, "the question was answered")
	case !now.Before(q.ExpiresAt):
		return service.Refuse(service.CodeLinkExpired, "the question has expired")
	case askable(row) != nil || row.MeasurementSetID != q.MeasurementSetID:
		return service.Refuse(service.CodeWrongState, "the shop has settled the question")
	}
	return nil
}

// doubts returns the faults of numbers in doubt.
func (o Order) doubts() service.Faults {
	return slices.DeleteFunc(slices.Clone(o.Faults), func(f service.Fault) bool { return f.Code != fault.Implausible })
}

// Answer is a customer's answer: the corrected numbers in a unit. Those that are not
// among them are right.
type Answer struct {
	Unit      string
	Corrected map[string]float64
}

// Answer takes a customer's answer, once. Numbers that are right count as
// confirmed; corrected ones are the customer's next measurement set, which is
// assessed like any other, and the order is drafted or held again. It fails as
// Question does, and with CodeInvalidInput if the numbers are refused.
func (s *Service) Answer(ctx context.Context, a patterns.Address, answer Answer, requestID string) error {
	q, asked, row, err := s.question(ctx, a)
	if err != nil {
		return err
	}
	caller := service.Caller{Shop: asked.ShopID, RequestID: requestID}
	now := s.Clock.Now()
	next, err := s.correction(ctx, caller, row, q, answer)
	if err != nil {
		return err
	}
	return s.store.InTx(ctx, func(tx *db.Tx) error {
		_, err := tx.AnswerQuestion(ctx, query.AnswerQuestionParams{ID: asked.ID, At: now})
		if errors.Is(err, db.ErrNotFound) {
			return service.Refuse(service.CodeLinkUsedUp, "the question was answered")
		}
		if err != nil {
			return err
		}
		if next != nil { // before the order is locked, in the order in which an erasure locks
			if _, err := customers.InsertSet(ctx, tx.Queries, *next); err != nil {
				return err
			}
		}
		locked, err := tx.OrderForUpdate(ctx, query.OrderForUpdateParams{ShopID: asked.ShopID, ID: asked.OrderID})
		if err != nil {
			return err
		}
		if err := answerable(asked, locked, now); err != nil {
			return err
		}
		return s.writeAnswer(ctx, tx, caller, locked, next, answer, now)
	})
}

// correction returns the measurement set with the corrected numbers, or nil if none
// is corrected. The error has the faults of the numbers.
func (s *Service) correction(
	ctx context.Context, caller service.Caller, row query.ShopOrder, q Question, answer Answer,
) (*query.MeasurementSet, error) {
	for name := range answer.Corrected {
		if !slices.ContainsFunc(q.Numbers, func(d Doubtful) bool { return d.Name == name }) {
			return nil, service.Refuse(service.CodeWrongState, "the question is about other numbers")
		}
	}
	if len(answer.Corrected) == 0 {
		return nil, nil
	}
	set, err := customers.SetOf(ctx, s.store.Queries, caller, row.CustomerID, row.MeasurementSetID)
	if err != nil {
		return nil, err
	}
	m := customers.Measurements{Unit: set.Unit, Values: maps.Clone(set.Values)}
	maps.Copy(m.Values, customers.Measurements{Unit: answer.Unit, Values: answer.Corrected}.In(set.Unit))
	assessed, err := assess(ctx, s.store.Queries, caller.Shop, m)
	if err != nil {
		return nil, err
	}
	if !assessed.Acceptable() {
		return nil, service.Invalid(assessed.Faults(customers.Refuse))
	}
	next := customers.NewSetRow(caller, m, assessed, s.Clock.NewID(), s.Clock.Now())
	next.CustomerID = row.CustomerID
	return &next, nil
}

// writeAnswer has the order drafted to what the customer said.
func (s *Service) writeAnswer(
	ctx context.Context, tx *db.Tx, caller service.Caller, row query.ShopOrder, next *query.MeasurementSet,
	answer Answer, now time.Time,
) error {
	o, err := Decode(row)
	if err != nil {
		return err
	}
	c := newChange(row)
	c.event = "answered"
	if next == nil {
		c.confirm(o)
	} else {
		c.row.MeasurementSetID = next.ID
		for _, f := range o.doubts() {
			name := f.Field[strings.LastIndex(f.Field, "/")+1:]
			if _, corrected := answer.Corrected[name]; !corrected {
				c.confirmed = append(c.confirmed, Confirmed{f.Field, f.Explanation})
			}
		}
		c.reason = answer.words()
	}
	c.draftAgain()
	_, err = s.write(ctx, tx, caller, c, now)
	return err
}

// maxReason is the length of a reason in the history.
const maxReason = 500

// words says what a customer has corrected.
func (a Answer) words() string {
	var said []string
	for _, name := range slices.Sorted(maps.Keys(a.Corrected)) {
		said = append(said, fmt.Sprintf("%s is %g %s", strings.ReplaceAll(name, "_", " "), a.Corrected[name],
			body.Unit(a.Unit).Of(body.Name(name))))
	}
	text := []rune(strings.Join(said, ", "))
	return string(text[:min(len(text), maxReason)])
}
