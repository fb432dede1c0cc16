package styles

import (
	"tapeline/drafting/style"
	"tapeline/service/cache"
)

// cacheBytes limits the memory of the compiled scripts that are kept. One of a
// garment takes 40 to 90 kB.
const cacheBytes = 12 << 20

// CacheStats returns the counts of the cache of compiled scripts.
func (s *Service) CacheStats() cache.Stats { return s.scripts.Stats() }

// compile returns the style of a script from the cache, or compiles it. The error is
// a *style.Error. Calls with a new script at the same time may each compile it.
func (s *Service) compile(script string) (*style.Style, error) {
	if kept, ok := s.scripts.GetIfPresent(style.HashOf([]byte(script))); ok {
		return kept, nil
	}
	compiled, err := style.Compile([]byte(script))
	if err != nil {
		return nil, err
	}
	kept, _ := s.scripts.SetIfAbsent(compiled.Hash, compiled)
	return kept, nil
}
