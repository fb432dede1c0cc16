package api_test

import (
	"net/http"
	"testing"

	"tapeline/api"
)

func TestOrderBecomesAPattern(t *testing.T) {
	t.Parallel()
	b := setup(t)
	var placed api.Order
	r := b.order(sampleOrder("LL-1"), `"first"`).want(http.StatusCreated, &placed)
	if placed.Status != api.OrderStatusReceived || placed.Reference != "LL-1" || placed.Fit != "regular" {
		t.Errorf("placed: %+v", placed)
	}
	if want := "http://tapeline.test/v1/orders/" + placed.ID.String(); r.header.Get("Location") != want {
		t.Errorf("Location %q, want %q", r.header.Get("Location"), want)
	}
	o := b.settled(placed.ID)
	if o.Status != api.OrderStatusReady || o.Revision != 1 || o.Links.PatternPDF == "" {
		t.Fatalf("settled: %+v", o)
	}
	pdf := b.get("/v1/orders/"+o.ID.String()+"/pattern.pdf?paper=a4").want(http.StatusOK, nil)
	if string(pdf.body[:5]) != "%PDF-" || pdf.header.Get("Content-Disposition") != `inline; filename="LL-1-a4.pdf"` {
		t.Errorf("not a PDF: %.20q, %q", pdf.body, pdf.header.Get("Content-Disposition"))
	}
	var history api.OrderHistory
	b.get("/v1/orders/"+o.ID.String()+"/history").want(http.StatusOK, &history)
	if len(history.Items) != 2 || history.Items[0].Event != "received" || history.Items[1].Event != "ready" {
		t.Errorf("history: %+v", history.Items)
	}
}
