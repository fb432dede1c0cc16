package files

import "testing"

func TestNumbersAsText(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		got, want string
	}{
		{decimals(94.5, 2), "94.5"}, {decimals(100, 2), "100"}, {decimals(-0.001, 2), "0"}, {decimals(1.005, 1),
			"1"}, {decimals(10, 0), "10"},
		{signed(0.12, 1), "+0.1"}, {signed(-0.12, 1), "-0.1"}, {signed(-0.04, 1), " 0.0"}, {signed(0, 2), " 0.00"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}
