package drafting_test

import (
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/document"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
)

// sample is the order that the README's first command drafts.
func sample(t testing.TB) drafting.Order {
	t.Helper()
	return ordertest.Order(t, "torso")
}

func a4(t testing.TB) sheets.Options {
	t.Helper()
	paper, err := sheets.ParsePaper("a4")
	if err != nil {
		t.Fatal(err)
	}
	return sheets.On(paper)
}

// Every format is rendered from the stored document: nothing may be lost on the
// way.
func TestStoredPatternRendersTheSame(t *testing.T) {
	t.Parallel()
	p, err := drafting.Draft(t.Context(), sample(t))
	if err != nil {
		t.Fatal(err)
	}
	stored, err := document.New(p).Encode()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("stored as %d bytes", len(stored))
	d, err := document.Decode(stored)
	if err != nil {
		t.Fatal(err)
	}
	back := d.Pattern()
	back.Label = p.Label
	var first, second bytes.Buffer
	if err := render.PDF(t.Context(), &first, p, a4(t)); err != nil {
		t.Fatal(err)
	}
	if err := render.PDF(t.Context(), &second, back, a4(t)); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("the PDF of a stored pattern differs from that of the drafted one")
	}
}

// A draft says which texts of the order the printed font cannot set as they are
// written, in the stored document too.
func TestDraftSaysMissingLetters(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bool{"注文 9": true, "שלום": true, "Заказ № 9": false, "Łódź 4": false} {
		for what, set := range map[string]func(*drafting.Order){
			"the order's reference": func(o *drafting.Order) { o.Reference = text },
			"the customer":          func(o *drafting.Order) { o.Customer = text },
		} {
			o := sample(t)
			set(&o)
			p, err := drafting.Draft(t.Context(), o)
			if err != nil {
				t.Fatal(err)
			}
			said := slices.ContainsFunc(document.New(p).Warnings, func(w string) bool {
				return strings.Contains(w, "Latin letters") && strings.Contains(w, what)
			})
			if said != want {
				t.Errorf("%q: warnings %q, want %s among them: %t", text, p.Warnings, what, want)
			}
		}
	}
}

func BenchmarkDraft(b *testing.B) {
	o := sample(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := drafting.Draft(b.Context(), o); err != nil {
			b.Fatal(err)
		}
	}
}

// From the order to the bytes of its A4 PDF.
func BenchmarkDraftPDF(b *testing.B) {
	o, paper := sample(b), a4(b)
	b.ReportAllocs()
	for b.Loop() {
		draftPDF(b, o, paper)
	}
}

// The same on all cores: the rate should grow with them.
func BenchmarkDraftPDFParallel(b *testing.B) {
	o, paper := sample(b), a4(b)
	b.ReportAllocs()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			draftPDF(b, o, paper)
		}
	})
}

func draftPDF(b *testing.B, o drafting.Order, paper sheets.Options) {
	p, err := drafting.Draft(b.Context(), o)
	if err != nil {
		b.Error(err)
		return
	}
	if err := render.PDF(b.Context(), io.Discard, p, paper); err != nil {
		b.Error(err)
	}
}
