package patterns

import (
	"bytes"
	"errors"
	"runtime"
	"testing"

	"tapeline/db/query"
	"tapeline/drafting/finish"
	"tapeline/drafting/ordertest"
	"tapeline/drafting/render"
)

// The bytes that the cache counts for a pattern are at least those that it takes,
// read from a document and lettered, and at most three times as many.
func TestCacheCountsMemory(t *testing.T) {
	const copies = 20
	heap := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	for name, p := range ordertest.Patterns(t) {
		r, err := NewRecord(p)
		if err != nil {
			t.Fatal(err)
		}
		before := heap()
		kept := make([]finish.Pattern, copies)
		for i := range kept {
			back, err := Decode(r.Document)
			if err != nil {
				t.Fatal(err)
			}
			kept[i] = back.Lettered()
		}
		taken := int(heap()-before) / copies
		counted := cached{document: len(r.Document)}.weight()
		t.Logf("%s: document %d bytes, in memory %d, counted %d", name, len(r.Document), taken, counted)
		if counted < taken || counted > 3*taken {
			t.Errorf("%s: counted %d bytes, it takes %d", name, counted, taken)
		}
		runtime.KeepAlive(kept)
	}
}

// A new draft is handed out of the cache, without the database, and renders as it
// does once it is read from there.
func TestNewDraftIsKept(t *testing.T) {
	t.Parallel()
	for name, p := range ordertest.Patterns(t) {
		p.Label.Revision = 1
		r, err := NewRecord(p)
		if err != nil {
			t.Fatal(err)
		}
		s := New(nil, Config{})
		s.Keep(r, 3)
		kept, err := s.Pattern(t.Context(), query.DraftHead{Hash: r.Hash[:], Number: 3, Label: r.Label})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		read, err := Decode(r.Document)
		if err != nil {
			t.Fatal(err)
		}
		read.Label = p.Label
		read.Label.Revision = 3
		for _, format := range []string{"pdf", "json"} {
			f, err := render.ParseFormat(format)
			if err != nil {
				t.Fatal(err)
			}
			var was, is bytes.Buffer
			if err := errors.Join(f.Write(t.Context(), &was, read, render.Options{}),
				f.Write(t.Context(), &is, kept, render.Options{})); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if !bytes.Equal(was.Bytes(), is.Bytes()) {
				t.Errorf("%s: its %s differs from that of the stored draft", name, format)
			}
		}
	}
}
