package sentence

import (
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
)

func builtins(t testing.TB) []*style.Style {
	t.Helper()
	all, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func read(t testing.TB, source string) *Script {
	t.Helper()
	s, err := Read(source, body.Centimetre)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Most of every built-in garment is said in sentences.
func TestMostStatementsAreSentences(t *testing.T) {
	t.Parallel()
	for _, g := range builtins(t) {
		all, said := read(t, g.Source()).Count()
		share := float64(said) / float64(all)
		t.Logf("%-22s %3d of %3d statements: %.0f %%", g.Head.Slug, said, all, 100*share)
		if share < 0.7 {
			t.Errorf("%s: %.0f %% of its statements are sentences; want 70", g.Head.Slug, 100*share)
		}
	}
}

// BenchmarkRead reads the longest garment as sentences.
func BenchmarkRead(b *testing.B) {
	source := ""
	for _, g := range builtins(b) {
		if len(g.Source()) > len(source) {
			source = g.Source()
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		read(b, source)
	}
}
