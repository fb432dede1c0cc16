package patterns

import (
	"runtime"
	"testing"

	"tapeline/drafting/finish"
	"tapeline/drafting/ordertest"
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
