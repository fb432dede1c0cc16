package db_test

import (
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// day is a day as the store takes it.
func day(text string) *time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return &t
}

func TestListOrdersByDueDateAndAssignee(t *testing.T) {
	b := setup(t)
	place := func(reference string, due *time.Time) query.ShopOrder {
		n := b.order(reference)
		n.DueDate = due
		_, err := b.place(n)
		b.must(err)
		return b.stored(n.ID)
	}
	none, late, soon, same := place("O-1", nil), place("O-2", day("2026-01-05")), place("O-3", day("2026-02-01")),
		place("O-4", day("2026-02-01"))
	late.Assignee, late.Note, late.UpdatedAt = new("Ines"), new("Ivory thread"), noon.Add(2*time.Hour)
	b.must(b.update(late))
	first := &time.Time{}
	for name, tt := range map[string]struct {
		filter query.ListOrdersParams
		want   string
	}{
		"newest first":        {query.ListOrdersParams{Below: uuid.Max}, "O-4 O-3 O-2 O-1"},
		"by due date":         {query.ListOrdersParams{ByDue: true, AfterDue: first, Below: uuid.Max}, "O-2 O-4 O-3 O-1"},
		"after one of two":    {query.ListOrdersParams{ByDue: true, AfterDue: same.DueDate, Below: same.ID}, "O-3 O-1"},
		"after the last date": {query.ListOrdersParams{ByDue: true, AfterDue: soon.DueDate, Below: soon.ID}, "O-1"},
		"after all":           {query.ListOrdersParams{ByDue: true, Below: none.ID}, ""},
		"due from":            {query.ListOrdersParams{DueFrom: day("2026-02-01"), Below: uuid.Max}, "O-4 O-3"},
		"due before":          {query.ListOrdersParams{DueBefore: day("2026-02-01"), Below: uuid.Max}, "O-2"},
		"assignee":            {query.ListOrdersParams{Assignee: new("Ines"), Below: uuid.Max}, "O-2"},
		"another assignee":    {query.ListOrdersParams{Assignee: new("ines"), Below: uuid.Max}, ""},
		"updated from":        {query.ListOrdersParams{UpdatedFrom: new(noon.Add(time.Hour)), Below: uuid.Max}, "O-2"},
	} {
		tt.filter.ShopID, tt.filter.Limit = b.shop.ID, 10
		got, err := b.store.ListOrders(t.Context(), tt.filter)
		b.must(err)
		var references []string
		for _, o := range got {
			references = append(references, o.Reference)
		}
		if list := strings.Join(references, " "); list != tt.want {
			t.Errorf("%s: %s, want %s", name, list, tt.want)
		}
	}

	cancelled := place("O-5", day("2026-01-01"))
	cancelled.Status, cancelled.ReasonCode = "cancelled", new("by_request")
	_, err := b.store.UpdateOrder(t.Context(), updated(cancelled, "received"))
	b.must(err)
	counts, err := b.store.CountOrders(t.Context(), query.CountOrdersParams{ShopID: b.shop.ID, Today: *day("2026-02-01"),
		KeyID: b.key.ID})
	b.must(err)
	var late1, orders int64
	for _, c := range counts {
		late1, orders = late1+c.Late, orders+c.Orders
	}
	if late1 != 1 || orders != 5 {
		t.Errorf("%d late of %d, want 1 of 5: what is due today is not late, and what is cancelled is never", late1, orders)
	}
	names, err := b.store.Assignees(t.Context(), query.AssigneesParams{ShopID: b.shop.ID, Limit: 10})
	if err != nil || !equal(names, []string{"Ines"}) {
		t.Errorf("assignees %v, %v", names, err)
	}
	_, err = b.erase(b.customer.ID)
	b.must(err)
	if o := b.stored(late.ID); o.Note != nil || *o.Assignee != "Ines" {
		t.Errorf("after the erasure the note is %v and the assignee %v, want none and Ines", o.Note, o.Assignee)
	}
}

// The lists of a shop with many orders are read from indexes, a page at a time.
func TestQueueIsReadFromIndexes(t *testing.T) {
	b := setup(t)
	o := b.ready("O-1")
	_, err := b.store.Pool().Exec(t.Context(), `
		INSERT INTO orders (id, shop_id, reference, customer_id, measurement_set_id, source, spec, status, reason_code,
			progress, due_date, assignee, draft_request, created_at, updated_at)
		SELECT uuid_v7(o.created_at - n * interval '1 hour'), o.shop_id, 'C-' || n, o.customer_id, o.measurement_set_id,
			o.source, o.spec, CASE WHEN n % 10 = 0 THEN 'held' WHEN n % 10 = 1 THEN 'received' ELSE 'cancelled' END,
			'by_request', CASE WHEN n % 3 = 0 THEN 'uncut' ELSE 'shipped' END, date '2026-01-01' + n % 400,
			'maker ' || n % 50, 1, o.created_at - n * interval '1 hour', o.updated_at - n * interval '1 hour'
		FROM orders o, generate_series(1, 20000) n WHERE o.id = $1`, o.ID)
	b.must(err)
	_, err = b.store.Pool().Exec(t.Context(), "ANALYZE orders")
	b.must(err)
	for name, tt := range map[string]struct {
		filter query.ListOrdersParams
		index  string
	}{
		"ready and uncut, by due date": {query.ListOrdersParams{ByDue: true, AfterDue: &time.Time{},
			Statuses: []string{"received"}, Progress: []string{"uncut"}}, "orders_shop_due"},
		"late": {query.ListOrdersParams{ByDue: true, AfterDue: &time.Time{}, Open: true, DueBefore: day("2026-03-01")},
			"orders_shop_due"},
		"assignee":     {query.ListOrdersParams{Assignee: new("maker 7")}, "orders_shop_assignee"},
		"updated from": {query.ListOrdersParams{UpdatedFrom: new(noon.Add(-50 * time.Hour))}, "orders_shop_updated"},
		"newest":       {query.ListOrdersParams{}, "Index"},
	} {
		tt.filter.ShopID, tt.filter.Below, tt.filter.Limit = b.shop.ID, uuid.Max, 51
		plan := b.explain("ListOrders", tt.filter)
		if !strings.Contains(plan, tt.index) || strings.Contains(plan, "Seq Scan on orders") {
			t.Errorf("%s is not read from %s:\n%s", name, tt.index, plan)
		}
	}
}

// explain returns the plan of a query for parameters.
func (b *bench) explain(name string, params any) string {
	b.Helper()
	source, err := os.ReadFile("query/orders.sql.go")
	b.must(err)
	for _, found := range generatedQuery.FindAllStringSubmatch(string(source), -1) {
		if found[1] != name {
			continue
		}
		var args []any
		for value := reflect.ValueOf(params); len(args) < value.NumField(); {
			args = append(args, value.Field(len(args)).Interface())
		}
		rows, err := b.store.Pool().Query(b.Context(), "EXPLAIN "+found[2], args...)
		b.must(err)
		defer rows.Close()
		var plan strings.Builder
		for rows.Next() {
			var line string
			b.must(rows.Scan(&line))
			plan.WriteString(line + "\n")
		}
		b.must(rows.Err())
		return plan.String()
	}
	b.Fatalf("there is no query %s", name)
	return ""
}
