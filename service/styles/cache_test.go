package styles

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"tapeline/drafting/style"
	"tapeline/service/cache"
)

// The bytes that the cache counts for a script are at least those that it takes
// compiled, and at most eight times as many: for the built-in garments, a script as
// long as it may be, and scripts whose top level makes much.
func TestCacheCountsMemory(t *testing.T) {
	heap := func() int {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int(m.HeapAlloc)
	}
	builtins, err := style.Builtins()
	if err != nil {
		t.Fatal(err)
	}
	long := builtins[0].Source() + "\ndef more(x):\n"
	long += strings.Repeat("    x = [x, -x, x+1, {x: x}]\n", (MaxScript-len(long))/30)
	// What the top level makes is kept too.
	made := builtins[0].Source() + "\nmade = [[\"%d\" % (i * 1000 + j) for i in range(100)] for j in range(60)]\n"
	scripts := []string{long, made, made + "dicts = [{i: i for i in range(50)} for j in range(60)]\n"}
	for _, s := range builtins {
		scripts = append(scripts, s.Source())
	}
	for i, script := range scripts {
		before := heap()
		var kept [5]*style.Style
		for n := range kept {
			if kept[n], err = style.Compile([]byte(script)); err != nil {
				t.Fatal(err)
			}
		}
		taken := (heap() - before) / len(kept)
		t.Logf("%d: script of %d bytes, compiled %d, counted %d", i, len(script), taken, kept[0].Memory())
		if counted := kept[0].Memory(); counted < taken || counted > 8*taken {
			t.Errorf("%d: counted %d bytes, it takes %d", i, counted, taken)
		}
		runtime.KeepAlive(kept)
	}
}

func TestCompileKeepsScripts(t *testing.T) {
	t.Parallel()
	const most = 2 << 20
	s := &Service{scripts: cache.New(most, (*style.Style).Memory)}
	script := func(n int) string {
		return fmt.Sprintf("style(slug = \"probe-%d\", title = \"P\", block = \"torso\")\n"+
			"def make(body, ease, choose, block): return None\n#", n) + strings.Repeat("x", 20_000)
	}
	first, err := s.compile(script(0))
	if err != nil {
		t.Fatal(err)
	}
	if again, _ := s.compile(script(0)); again != first {
		t.Error("compiled twice")
	}
	if _, err := s.compile("x = "); err == nil {
		t.Error("a script that does not compile was taken")
	}
	for n := range 40 {
		if _, err := s.compile(script(n)); err != nil {
			t.Fatal(err)
		}
	}
	s.scripts.CleanUp()
	stats := s.CacheStats()
	if stats.Bytes > most || stats.Evicted == 0 || stats.Hits < 2 || stats.Misses < 40 || stats.Entries > 20 {
		t.Errorf("%+v", stats)
	}
}
