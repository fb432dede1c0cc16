package api_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"net/http"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/service"
)

// Several orders are one file: a ticket and the pages of each, as one PDF or an
// archive. If one of them cannot be printed, each such order is named.
func TestPrintOrders(t *testing.T) {
	t.Parallel()
	b := setup(t)
	// Their files would have one name.
	first, second := b.ready("LL 1/2"), b.ready("ll-1-2")
	pages := func(pdf []byte) int { return bytes.Count(pdf, []byte("/Type /Page\n")) }
	single := 0
	for _, o := range []api.Order{first, second} {
		single += pages(b.get("/v1/orders/"+o.ID.String()+"/pattern.pdf").want(http.StatusOK, nil).body)
	}
	both := []uuid.UUID{first.ID, second.ID}
	pdf := b.post("/v1/prints", object{"orders": both}).want(http.StatusOK, nil)
	if n := pages(pdf.body); n != single+2 || pdf.header.Get("Content-Disposition") != `inline; filename="orders-a4.pdf"` {
		t.Errorf("%d pages, want two tickets and %d: %v", n, single, pdf.header)
	}
	if again := b.post("/v1/prints", object{"orders": both}); !bytes.Equal(again.body, pdf.body) {
		t.Error("the same print is not the same bytes")
	}
	b.as(service.RoleStaff, "PATCH", "/v1/orders/"+first.ID.String(), object{"due_date": "2026-12-04"}).
		want(http.StatusOK, nil)
	if due := b.post("/v1/prints", object{"orders": both}); bytes.Equal(due.body, pdf.body) {
		t.Error("the job ticket does not say when the order is due")
	}

	packed := b.post("/v1/prints", object{"orders": both, "format": "zip", "paper": "letter"}).want(http.StatusOK, nil)
	archive, err := zip.NewReader(bytes.NewReader(packed.body), int64(len(packed.body)))
	b.must(err)
	var names []string
	for _, f := range archive.File {
		names = append(names, f.Name)
		r, err := f.Open()
		b.must(err)
		content, err := io.ReadAll(r)
		b.must(err)
		if !bytes.HasPrefix(content, []byte("%PDF-")) {
			t.Errorf("%s is no PDF", f.Name)
		}
	}
	if fmt.Sprint(names) != "[LL-1-2-letter.pdf ll-1-2-letter-2.pdf]" {
		t.Errorf("the archive has %v", names)
	}

	b.post("/v1/orders/"+second.ID.String()+"/hold", `{"reason":"cloth is missing"}`).want(http.StatusOK, nil)
	missing := uuid.New()
	var p api.Problem
	b.post("/v1/prints", object{"orders": []uuid.UUID{first.ID, second.ID, missing}}).want(
		http.StatusUnprocessableEntity, &p)
	if len(p.Errors) != 2 || p.Errors[0].Pointer != "#/orders/1" || p.Errors[1].Pointer != "#/orders/2" {
		t.Errorf("the faults are %+v", p.Errors)
	}
	for _, c := range []struct {
		body object
		want int
	}{
		{object{"orders": []uuid.UUID{}}, http.StatusBadRequest},
		{object{"orders": []uuid.UUID{first.ID, first.ID}}, http.StatusBadRequest},
		{object{"orders": both, "format": "rar"}, http.StatusBadRequest},
		{object{"orders": both, "paper": "b9"}, http.StatusUnprocessableEntity},
	} {
		if r := b.post("/v1/prints", c.body); r.status != c.want {
			t.Errorf("%v gave %d, want %d: %s", c.body, r.status, c.want, r.body)
		}
	}
	r := b.do(call{method: "POST", path: "/v1/prints", key: b.otherShop(service.RoleAdmin), body: object{"orders": both}})
	if r.status != http.StatusUnprocessableEntity || bytes.Contains(r.body, []byte(first.Reference)) {
		t.Errorf("another shop got %d %s", r.status, r.body)
	}
}
