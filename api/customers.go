package api

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"time"

	"github.com/google/uuid"

	"tapeline/service"
	"tapeline/service/customers"
	"tapeline/service/orders"
	"tapeline/service/refits"
)

// CreateCustomer adds a customer.
func (s *Server) CreateCustomer(
	ctx context.Context, r CreateCustomerRequestObject,
) (CreateCustomerResponseObject, error) {
	c, err := s.service.Customers.Create(ctx, callerOf(ctx), customerDetails(*r.Body))
	return CreateCustomer201JSONResponse{
		Body: customer(c), Headers: CreateCustomer201ResponseHeaders{Location: "/v1/customers/" + c.ID.String()},
	}, err
}

// ListCustomers lists customers.
func (s *Server) ListCustomers(ctx context.Context, r ListCustomersRequestObject) (ListCustomersResponseObject, error) {
	page, err := pageOf(r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	list, next, err := s.service.Customers.List(ctx, callerOf(ctx),
		customers.Filter{Reference: r.Params.Reference, Search: r.Params.Q}, page)
	return ListCustomers200JSONResponse{Items: each(list, customer), NextCursor: cursorOf(next)}, err
}

// GetCustomer returns a customer.
func (s *Server) GetCustomer(ctx context.Context, r GetCustomerRequestObject) (GetCustomerResponseObject, error) {
	c, err := s.service.Customers.Get(ctx, callerOf(ctx), r.CustomerID)
	return GetCustomer200JSONResponse(customer(c)), err
}

// ReplaceCustomer corrects a customer's details.
func (s *Server) ReplaceCustomer(
	ctx context.Context, r ReplaceCustomerRequestObject,
) (ReplaceCustomerResponseObject, error) {
	c, err := s.service.Customers.Replace(ctx, callerOf(ctx), r.CustomerID, customerDetails(*r.Body))
	return ReplaceCustomer200JSONResponse(customer(c)), err
}

func customerDetails(d CustomerDetails) customers.Details {
	return customers.Details{Reference: d.Reference, Name: d.Name}
}

func customer(c customers.Customer) Customer {
	return Customer{
		ID: c.ID, Reference: c.Reference, Name: c.Name,
		CreatedAt: c.CreatedAt, UpdatedAt: c.UpdatedAt, ErasedAt: deref(c.ErasedAt), Test: c.Test,
	}
}

// EraseCustomer erases a customer's personal data.
func (s *Server) EraseCustomer(ctx context.Context, r EraseCustomerRequestObject) (EraseCustomerResponseObject, error) {
	e, err := s.service.Customers.Erase(ctx, callerOf(ctx), r.CustomerID)
	return EraseCustomer200JSONResponse{
		CustomerID: e.Customer, ErasedAt: e.At, OrdersCancelled: e.OrdersCancelled,
	}, err
}

// ExportCustomer returns everything stored about a customer. It writes the
// contract's CustomerExport while it reads the data, so that it holds only a
// part of it in memory.
func (s *Server) ExportCustomer(
	ctx context.Context, r ExportCustomerRequestObject,
) (ExportCustomerResponseObject, error) {
	c, at, err := s.service.Customers.BeginExport(ctx, callerOf(ctx), r.CustomerID)
	if err != nil {
		return nil, err
	}
	return export(func(w http.ResponseWriter) error {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusOK)
		out := bufio.NewWriter(w)
		if err := s.writeExport(ctx, out, c, at); err != nil {
			s.log.ErrorContext(ctx, "export aborted", slog.Any("error", err))
			panic(http.ErrAbortHandler) // the status is sent: only a broken connection can tell the caller
		}
		return out.Flush()
	}), nil
}

// export writes the response to ExportCustomer.
type export func(http.ResponseWriter) error

func (x export) VisitExportCustomerResponse(w http.ResponseWriter) error { return x(w) }

// exportedOrder is the contract's ExportedOrder with patterns as stored.
type exportedOrder struct {
	Order    Order             `json:"order"`
	History  []OrderEvent      `json:"history"`
	Patterns []json.RawMessage `json:"patterns"`
	Refits   []RefitOrder      `json:"refits"`
	Fittings []Fitting         `json:"fittings"`
}

func (s *Server) writeExport(ctx context.Context, w io.Writer, c customers.Customer, at time.Time) error {
	caller, all := callerOf(ctx), s.service.Customers
	object := objectWriter{w: w}
	object.field("exported_at", at)
	object.field("customer", customer(c))
	object.list("measurement_sets", func(add func(any)) error {
		return allPages(func(p service.Page) ([]customers.Set, uuid.UUID, error) {
			return all.Sets(ctx, caller, c.ID, p)
		}, func(set customers.Set) { add(measurementSet(set)) })
	})
	object.list("alterations", func(add func(any)) error {
		return allPages(func(p service.Page) ([]customers.AlterationSet, uuid.UUID, error) {
			return all.AlterationSets(ctx, caller, c.ID, p)
		}, func(set customers.AlterationSet) { add(alterationSet(set)) })
	})
	object.list("orders", func(add func(any)) error {
		return s.exportOrders(ctx, caller, c.ID, add)
	})
	return object.end()
}

// exportPage is the number of orders whose data an export holds at a time.
const exportPage = 10

func (s *Server) exportOrders(
	ctx context.Context, caller service.Caller, customer uuid.UUID, add func(any),
) error {
	var failed error
	err := allPages(func(p service.Page) ([]orders.Exported, uuid.UUID, error) {
		if failed != nil {
			return nil, uuid.Nil, failed
		}
		p.Limit = exportPage
		return s.service.Orders.Export(ctx, caller, customer, p)
	}, func(o orders.Exported) {
		x := exportedOrder{
			Order: s.order(o.Order), History: each(o.History, orderEvent), Patterns: o.Patterns, Refits: []RefitOrder{},
		}
		err := allPages(func(p service.Page) ([]refits.Order, uuid.UUID, error) {
			return s.service.Refits.OfOrder(ctx, caller, o.Order.ID, p)
		}, func(r refits.Order) { x.Refits = append(x.Refits, refitOrder(r)) })
		fitted, unread := s.service.Fittings.OfOrder(ctx, caller, o.Order.ID)
		x.Fittings = each(fitted, fitting)
		if failed = errors.Join(failed, err, unread); failed == nil {
			add(x)
		}
	})
	return errors.Join(failed, err)
}

// allPages calls do for all rows of a list.
func allPages[T any](list func(service.Page) ([]T, uuid.UUID, error), do func(T)) error {
	for page := (service.Page{Limit: 100}); ; {
		rows, next, err := list(page)
		for _, row := range rows {
			do(row)
		}
		if err != nil || next == uuid.Nil {
			return err
		}
		page.After = next
	}
}

// objectWriter writes a JSON object field by field. It keeps the first error and
// then writes nothing more.
type objectWriter struct {
	w      io.Writer
	fields int
	err    error
}

func (o *objectWriter) print(s string) {
	if o.err == nil {
		_, o.err = io.WriteString(o.w, s)
	}
}

func (o *objectWriter) value(v any) {
	if o.err != nil {
		return
	}
	var data []byte
	if data, o.err = json.Marshal(v); o.err == nil {
		_, o.err = o.w.Write(data)
	}
}

func (o *objectWriter) name(name string) {
	separator := ","
	if o.fields == 0 {
		separator = "{"
	}
	o.fields++
	o.print(separator)
	o.value(name)
	o.print(":")
}

// field writes a field with a value.
func (o *objectWriter) field(name string, v any) {
	o.name(name)
	o.value(v)
}

// list writes a field with the array of the values that fill adds.
func (o *objectWriter) list(name string, fill func(add func(any)) error) {
	o.name(name)
	separator := "["
	err := fill(func(v any) {
		o.print(separator)
		separator = ","
		o.value(v)
	})
	if o.err == nil {
		o.err = err
	}
	if separator == "[" {
		o.print("[")
	}
	o.print("]")
}

func (o *objectWriter) end() error {
	o.print("}")
	return o.err
}
