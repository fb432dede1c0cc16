package style_test

import (
	"context"
	"io"
	"testing"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/document"
	"tapeline/drafting/finish"
	"tapeline/drafting/render"
	"tapeline/drafting/sheets"
	"tapeline/drafting/style"
)

// BenchmarkDraft is a whole draft of each garment; BenchmarkBlock that of its
// block alone, drafted as the garment asks. The difference is what the script
// costs.
func BenchmarkDraft(b *testing.B) {
	benchGarments(b, func(s *style.Style) *style.Style { return s })
}

// benchGarments measures drafts of each garment, prepared in some way.
func benchGarments(b *testing.B, prepared func(*style.Style) *style.Style) {
	b.Helper()
	all, err := style.Builtins()
	if err != nil {
		b.Fatal(err)
	}
	for _, s := range all {
		spec := s.Spec()
		person, faults := body.New(standard, spec.Requires)
		if faults != nil {
			b.Fatal(faults)
		}
		req := block.Request{Body: person, Fit: spec.Fits[0].Name}
		garment := prepared(s)
		b.Run(s.Head.Slug, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := garment.Draft(b.Context(), req); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBlock(b *testing.B) {
	for _, name := range []string{"torso", "straight"} {
		spec, _ := block.Find(name)
		person, faults := body.New(standard, spec.Requires)
		if faults != nil {
			b.Fatal(faults)
		}
		for _, sleeve := range []string{"full", "none"} {
			req := block.Request{Body: person, Fit: spec.Fits[0].Name, Choices: map[string]block.Value{"sleeve": {Word: sleeve}}}
			b.Run(name+"/"+sleeve, func(b *testing.B) {
				for b.Loop() {
					if _, err := block.Draft(b.Context(), name, req); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// BenchmarkDraftPDF is a garment from body to stored document, and from that to
// A4 sheets, as the service makes them.
func BenchmarkDraftPDF(b *testing.B) {
	all, err := style.Builtins()
	if err != nil {
		b.Fatal(err)
	}
	paper, err := sheets.ParsePaper("a4")
	if err != nil {
		b.Fatal(err)
	}
	for _, s := range all {
		spec := s.Spec()
		person, faults := body.New(standard, spec.Requires)
		if faults != nil {
			b.Fatal(faults)
		}
		req := block.Request{Body: person, Fit: spec.Fits[0].Name}
		b.Run(s.Head.Slug, func(b *testing.B) {
			b.ReportAllocs()
			start := style.ProcessorTime()
			for b.Loop() {
				p, err := s.Draft(context.Background(), req)
				if err != nil {
					b.Fatal(err)
				}
				f, err := finish.Finish(b.Context(), p, finish.Rules{})
				if err != nil {
					b.Fatal(err)
				}
				stored, err := document.New(f).Encode()
				if err != nil {
					b.Fatal(err)
				}
				document.Hash(stored)
				d, err := document.Decode(stored)
				if err != nil {
					b.Fatal(err)
				}
				if err := render.PDF(b.Context(), io.Discard, d.Pattern(), sheets.Options{Paper: paper, Margin: 10}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric((style.ProcessorTime()-start).Seconds()*1000/float64(b.N), "cpu_ms/op")
		})
	}
}

func BenchmarkCompile(b *testing.B) {
	s, _ := style.Builtin("button-shirt")
	for b.Loop() {
		if _, err := style.Compile([]byte(s.Source())); err != nil {
			b.Fatal(err)
		}
	}
}
