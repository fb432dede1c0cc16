package sheets

import "testing"

// The page map's text names the last column, wherever its last page lies.
func TestCorners(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		tiles       []tile
		first, last string
	}{
		{[]tile{{0, 0}}, "A1", "A1"},
		{[]tile{{0, 0}, {6, 0}, {1, 8}}, "A1", "G9"},
		{[]tile{{1, 0}, {0, 1}, {27, 2}}, "A1", "AB3"},
	} {
		if first, last := corners(c.tiles); first != c.first || last != c.last {
			t.Errorf("%v: %s to %s, want %s to %s", c.tiles, first, last, c.first, c.last)
		}
	}
}
