package render

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/making"
	"tapeline/drafting/ordertest"
)

// A bundle has a ticket, the making sheet and the pattern of every order, and the
// codes on the tickets are read by an independent reader: zbarimg.
func TestBundleIsReadBack(t *testing.T) {
	t.Parallel()
	patterns := ordertest.Patterns(t)
	names := []string{"torso", "trousers", "flared-skirt"}
	b, err := NewBundle(Options{})
	if err != nil {
		t.Fatal(err)
	}
	var want []string // addresses
	var tickets []int // pages
	for _, name := range names {
		p := patterns[name]
		if p.Pieces == nil {
			t.Fatalf("no sample order %s", name)
		}
		p.Label.Reference, p.Label.Customer = "Ж "+name+" <&>", strings.Repeat("long ", 30)
		address := "https://patterns.example.org/workroom/orders/0192b4de-0000-7000-8000-" + name
		var single bytes.Buffer
		if err := writePDF(t.Context(), &single, p, Options{}); err != nil {
			t.Fatal(err)
		}
		before := b.Pages()
		if err := b.Add(t.Context(), p, making.Ticket{Address: address, Due: "2026-12-04", Maker: "Ines"}); err != nil {
			t.Fatal(err)
		}
		pages := bytes.Count(single.Bytes(), []byte("/Type /Page\n"))
		if got := b.Pages() - before; got != pages+1 {
			t.Errorf("%s takes %d pages, want a ticket and %d", name, got, pages)
		}
		want, tickets = append(want, address), append(tickets, before+1)
	}
	var out bytes.Buffer
	if err := b.Write(&out); err != nil {
		t.Fatal(err)
	}
	file := save(t, out.Bytes())
	text := string(read(t, "pdftotext", "-layout", file, "-"))
	for _, words := range []string{"Job ticket", "2026-12-04", "Ines", "Ж torso <&>", "of pattern on A4", "To cut"} {
		if !strings.Contains(text, words) {
			t.Errorf("the text of the bundle lacks %q", words)
		}
	}
	for i, page := range tickets {
		prefix := filepath.Join(t.TempDir(), "ticket")
		read(t, "pdftoppm", "-r", "100", "-png", "-singlefile", "-f", fmt.Sprint(page), file, prefix)
		if got := strings.TrimSpace(string(read(t, "zbarimg", "--quiet", "--raw", prefix+".png"))); got != want[i] {
			t.Errorf("zbarimg reads %q on page %d, want %q", got, page, want[i])
		}
	}
}

// Wrong options and an ended context are errors of a bundle.
func TestBundleFaults(t *testing.T) {
	t.Parallel()
	if _, err := NewBundle(Options{Paper: "b9"}); err == nil {
		t.Error("an unknown paper is accepted")
	}
	b, err := NewBundle(Options{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := b.Add(ctx, sampleOf(t, "torso"), making.Ticket{Address: "x"}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want that the context has ended", err)
	}
	b, err = NewBundle(Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(t.Context(), sampleOf(t, "torso"), making.Ticket{Address: strings.Repeat("x", 5000)}); err == nil {
		t.Error("an address that no code holds is accepted")
	}
}

func sampleOf(t *testing.T, name string) finish.Pattern {
	t.Helper()
	return ordertest.Patterns(t)[name]
}
