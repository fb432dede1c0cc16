package render

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"sync"
	"testing"

	"tapeline/drafting"
	"tapeline/drafting/drawing"
	"tapeline/drafting/finish"
	"tapeline/drafting/lettering"
	"tapeline/drafting/making"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/sheets"
)

// Every paper: sound by qpdf, pages of the paper's size and of the number
// promised by poppler's pdfinfo.
func TestPDFIsSound(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, name := range allPapers() {
		for _, overlap := range []float64{0, 15} {
			t.Run(fmt.Sprintf("%s overlap %g", name, overlap), func(t *testing.T) {
				t.Parallel()
				o := on(t, name)
				o.Overlap = overlap
				file := write(t, p, o)
				read(t, "qpdf", "--check", file)
				l, err := sheets.Plan(t.Context(), p, o)
				if err != nil {
					t.Fatal(err)
				}
				checkInfo(t, file, l)
			})
		}
	}
}

func checkInfo(t *testing.T, file string, l sheets.Layout) {
	info := string(read(t, "pdfinfo", "-f", "1", "-l", fmt.Sprint(len(l.Pages)), file))
	if want := fmt.Sprintf("Pages:           %d\n", len(l.Pages)); !strings.Contains(info, want) {
		t.Errorf("want %d pages:\n%s", len(l.Pages), info)
	}
	sizes := 0
	for line := range strings.Lines(info) {
		var page int
		var w, h float64
		if n, _ := fmt.Sscanf(line, "Page %d size: %g x %g pts", &page, &w, &h); n == 3 {
			sizes++
			if math.Abs(w-l.PageWidth*72/25.4) > 0.01 || math.Abs(h-l.PageHeight*72/25.4) > 0.01 {
				t.Errorf("page %d is %g × %g points, want %g × %g mm", page, w, h, l.PageWidth, l.PageHeight)
			}
		}
	}
	if sizes != len(l.Pages) {
		t.Errorf("%d page sizes for %d pages", sizes, len(l.Pages))
	}
	if !strings.Contains(info, "Title:           "+l.Label.Reference+"\n") {
		t.Errorf("the title is not the reference:\n%s", info)
	}
}

// The same pattern gives the same bytes, whatever else is written meanwhile.
func TestPDFSameBytes(t *testing.T) {
	t.Parallel()
	p, other := torso(t, nil), torso(t, func(o *drafting.Order) { o.Reference, o.Customer = "Ωмега", "other letters" })
	for _, name := range []string{"a4", "full"} {
		o := on(t, name)
		var want bytes.Buffer
		if err := PDF(t.Context(), &want, p, o); err != nil {
			t.Fatal(err)
		}
		var wg sync.WaitGroup
		for i := range 16 {
			wg.Go(func() {
				q := p
				if i%2 == 1 {
					q = other
				}
				var got bytes.Buffer
				if err := PDF(t.Context(), &got, q, o); err != nil {
					t.Error(err)
				}
				if i%2 == 0 && !bytes.Equal(got.Bytes(), want.Bytes()) {
					t.Errorf("%s: other bytes", name)
				}
			})
		}
		wg.Wait()
	}
}

// The hip-length torso with its sleeve on A4 stays under 120 kB.
func TestPDFSize(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := PDF(t.Context(), &b, torso(t, nil), on(t, "a4")); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d bytes", b.Len())
	if b.Len() > 120_000 {
		t.Errorf("%d bytes", b.Len())
	}
}

// Every line of every label can be read out of the pages; those of the legend
// out of the first.
func TestPDFHoldsEveryLabel(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	for _, name := range allPapers() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o := on(t, name)
			l, err := sheets.Plan(t.Context(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			file := write(t, p, o)
			var pages []string
			for i := range l.Pages {
				n := fmt.Sprint(i + 1)
				pages = append(pages, string(read(t, "pdftotext", "-raw", "-f", n, "-l", n, file, "-")))
			}
			for i := range l.Pages {
				for _, label := range l.Pages[i].Texts {
					wantLines(t, pages[i], label)
				}
				for _, j := range l.Pages[i].Joins {
					wantLines(t, pages[i], j.Label)
				}
			}
			for _, label := range l.Legend.Texts {
				wantLines(t, pages[0], label)
			}
			cut := 0
			for _, piece := range l.Pieces {
				for _, label := range piece.Texts {
					shown := pagesOf(l, label)
					if len(shown) > 1 {
						cut++
					}
					for _, i := range shown {
						wantLines(t, pages[i], label)
					}
				}
			}
			t.Logf("%d pages, %d labels cut by an edge", len(pages), cut)
			if cut > 0 && name != "a4" && name != "letter" {
				t.Errorf("%d labels are cut by the edge of a page", cut)
			}
		})
	}
}

// pagesOf are the pages of which a label's box covers any part.
func pagesOf(l sheets.Layout, label finish.Text) []int {
	var pages []int
	for i, p := range l.Pages {
		if !p.Cover && boxOf(label).Overlaps(p.Window) {
			pages = append(pages, i)
		}
	}
	return pages
}

func wantLines(t *testing.T, text string, label finish.Text) {
	t.Helper()
	flat := strings.Join(strings.Fields(text), "") // poppler puts each letter of an oblique line on one of its own
	for _, line := range label.Lines {
		if !strings.Contains(flat, strings.Join(strings.Fields(line), "")) {
			t.Errorf("%q is not in the text of its page:\n%s", line, text)
		}
	}
}

// Letters of other alphabets are set, what the font lacks is spelled, and
// neither breaks the document.
func TestPDFLetters(t *testing.T) {
	t.Parallel()
	for reference, want := range map[string]string{
		"Παραγγελία Ω-9":    "Παραγγελία Ω-9",
		"Заказ № 9 Ёжик":    "Заказ № 9 Ёжик",
		"Größe Æther Łódź":  "Größe Æther Łódź",
		"robe \U0001F457 x": "robe [?] x",
		"שלום a":            "SHlvm a",
		"(\\)<<>> %%EOF [1": "(\\)<<>> %%EOF [1",
	} {
		p := torso(t, nil)
		p.Label.Reference, p.Label.Customer, p.Style = reference, reference, reference
		p.Warnings = []string{reference}
		p = p.Lettered()
		for i := range p.Pieces {
			p.Pieces[i].Texts[0].Lines = []string{"piece " + reference} // as if nothing had cleaned it
		}
		file := write(t, p, on(t, "a4"))
		read(t, "qpdf", "--check", file)
		text := string(read(t, "pdftotext", "-raw", file, "-"))
		if got := strings.Count(text, "piece "+want); got < len(p.Pieces) {
			t.Errorf("%q stands on %d pieces of %d as %q", reference, got, len(p.Pieces), want)
		}
		if !strings.Contains(text, "\n"+want+"\n") && !strings.HasPrefix(text, want+"\n") {
			t.Errorf("%q is not the legend's title", want)
		}
		info := string(read(t, "pdfinfo", file))
		title := strings.Map(func(r rune) rune {
			if r > 0xFFFF {
				return lettering.Replacement
			}
			return r
		}, reference)
		if !strings.Contains(info, title) {
			t.Errorf("title of %q:\n%s", reference, info)
		}
	}
}

// What is wrong is said before anything is written.
func TestPDFWritesNothingOnError(t *testing.T) {
	t.Parallel()
	p := torso(t, nil)
	bad := on(t, "a4")
	bad.Margin = -1
	for name, err := range map[string]error{
		"margin":    PDF(t.Context(), failing{t}, p, bad),
		"no pieces": PDF(t.Context(), failing{t}, finish.Pattern{}, on(t, "a4")),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if err := PDF(t.Context(), &full{room: 1000}, p, on(t, "a4")); !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("a full disk gives %v", err)
	}
}

// failing is a writer that must not be written to.
type failing struct{ t *testing.T }

func (w failing) Write(b []byte) (int, error) {
	w.t.Errorf("%d bytes written", len(b))
	return len(b), nil
}

// full is a writer that takes a limited number of bytes.
type full struct{ room int }

func (w *full) Write(b []byte) (int, error) {
	if len(b) > w.room {
		return w.room, io.ErrShortWrite
	}
	w.room -= len(b)
	return len(b), nil
}

func BenchmarkPDF(b *testing.B) {
	p := torso(b, nil)
	for _, name := range []string{"a4", "a0", "full"} {
		o := on(b, name)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := PDF(b.Context(), io.Discard, p, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The PDF alone, of a pattern laid out already.
func BenchmarkPDFOfLayout(b *testing.B) {
	l, err := sheets.Plan(b.Context(), torso(b, nil), on(b, "a4"))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := pdf(b.Context(), l, making.Sheet{}, drawing.Pieces(l.Pieces), false); err != nil {
			b.Fatal(err)
		}
	}
}

// Order to A4 document, on as many cores as -cpu says.
func BenchmarkDraftToPDF(b *testing.B) {
	order := ordertest.Order(b, "torso")
	o := on(b, "a4")
	b.ReportAllocs()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			p, err := drafting.Draft(b.Context(), order)
			if err == nil {
				err = PDF(b.Context(), io.Discard, p, o)
			}
			if err != nil {
				b.Error(err)
				return
			}
		}
	})
}
