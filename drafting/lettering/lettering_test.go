package lettering

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/signintech/gopdf/fontmaker/core"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"tapeline/drafting/geom"
)

func TestCoversTheScripts(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"English":   "The quick brown fox jumps over the lazy dog 0123456789 !?&%()[]{}<>@#*+-=/\\",
		"German":    "Falsches Üben von Xylophonmusik quält jeden größeren Zwerg",
		"French":    "Voix ambiguë d’un cœur qui, au zéphyr, préfère les jattes de kiwis, ça et là",
		"Polish":    "Zażółć gęślą jaźń ŁÓDŹ",
		"Czech":     "Příliš žluťoučký kůň úpěl ďábelské ódy",
		"Romanian":  "Muzicologă în bej vând whisky și tequila, preț fix",
		"Turkish":   "Pijamalı hasta yağız şoföre çabucak güvendi İ",
		"Icelandic": "Kæmi ný öxi hér ykist þjófum nú bæði víl og ádrepa",
		"Greek":     "Ξεσκεπάζω την ψυχοφθόρα βδελυγμία Ώ ΐ ΰ",
		"Russian":   "Съешь ещё этих мягких французских булок, да выпей чаю",
		"Ukrainian": "Жебракують філософи при ґанку церкви в Гадячі, ще й шатро їхнє п’яне знаємо",
		"Serbian":   "Љубазни фењерџија чађавог лица хоће да ми покаже штос",
		"Trade":     "½ ¼ ¾ × ° ± ≤ ≥ – — … “ ” „ « » € £ № • →",
	} {
		for _, f := range []*Font{Regular()} {
			if got := f.Clean(text); got != text {
				t.Errorf("%s: set as %q", name, got)
			}
		}
	}
}

func TestClean(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", ""},
		{"plain", "A-1042", "A-1042"},
		{"lines and tabs", "a\nb\tc\r\x00\x7f", "a b c "},
		{"emoji", "dress 👗!", "dress [?]!"},
		{"direction override", "a\u202eb\u2066c\u200fd", "abcd"},
		{"Hebrew", "שלום", "SHlvm"},
		{"broken UTF-8", "a\xffb\xc3", "a[?]b[?]"},
		{"composed from base and accent", "Zoe\u0308 Nu\u0301n\u0303ez", "Zoë Núñez"},
		{"accent without a letter of its own", "q\u0301", "q"},
		{"spaces of other widths", "1\u2009000\u3000\u202fkg\u00a0", "1 000  kg\u00a0"},
		{"invisible", "a\u200bb\u00adc\ufeff", "abc"},
		{"Han", "王小明", "Wang Xiao Ming "},
		{"Vietnamese", "Nguyễn Thị", "Nguyen Thi"},
		{"Hangul", "김", "gim"},
		{"a run without spelling", "a👗👗b", "a[?]b"},
		{"private use", "\uf800", "[?]"},
	} {
		if got := Regular().Clean(c.text); got != c.want {
			t.Errorf("%s: Clean(%q) = %q, want %q", c.name, c.text, got, c.want)
		}
	}
}

func FuzzClean(f *testing.F) {
	for _, s := range []string{"A 1", "👗\u202e", "e\u0301\xff", "\u1100\u1161", strings.Repeat("\u0301", 100)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		font := Regular()
		got := font.Clean(s)
		if !utf8.ValidString(got) {
			t.Fatalf("Clean(%q) is not UTF-8", s)
		}
		for _, r := range got {
			if !font.Has(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
				t.Fatalf("Clean(%q) = %q keeps %U", s, got, r)
			}
		}
		if again := font.Clean(got); again != got {
			t.Fatalf("cleaning twice: %q then %q", got, again)
		}
		if w := font.Width(s, 3); !(w >= 0) || w != font.Width(got, 3) {
			t.Fatalf("Width(%q) = %g", s, w)
		}
	})
}

// runes returns the runes that the font can set.
func runes() []rune {
	var all []rune
	for r := range rune(unicode.MaxRune + 1) {
		if Regular().Has(r) {
			all = append(all, r)
		}
	}
	return all
}

// An independent reader of TrueType, the one that will embed the font, reads
// the advances from its hmtx table.
func TestWidthAgainstAnotherReader(t *testing.T) {
	t.Parallel()
	var reader core.TTFParser
	if err := reader.ParseByReader(bytes.NewReader(goregular.TTF)); err != nil {
		t.Fatal(err)
	}
	index, advance := reader.Chars(), reader.Widths()
	if n := len(runes()); n < 600 {
		t.Errorf("%d glyphs", n)
	}
	for _, r := range runes() {
		want := float64(advance[index[int(r)]])
		if got := Regular().Width(string(r), float64(reader.UnitsPerEm())); math.Abs(got-want) > 1e-9 {
			t.Errorf("%U runs %g units, want %g", r, got, want)
		}
	}
	if got, want := Regular().Width("Taillé", 10), 10*Regular().Width("Taillé", 1); math.Abs(got-want) > 1e-12 {
		t.Errorf("width at 10 mm is %g, want %g", got, want)
	}
}

// boundsOf is the box round all contours.
func boundsOf(contours []geom.Path) geom.Box {
	b := geom.EmptyBox()
	for _, c := range contours {
		b = b.Union(c.Bounds())
	}
	return b
}

func TestOutline(t *testing.T) {
	t.Parallel()
	for _, r := range runes() {
		for _, f := range []*Font{Regular()} {
			g, _ := f.glyph(r)
			if _, err := f.sfnt.LoadGlyph(new(sfnt.Buffer), g.index, 64*2048, nil); err != nil {
				t.Fatalf("%U: %v", r, err)
			}
			contours := f.Outline(string(r), 10)
			if len(contours) == 0 && !unicode.IsSpace(r) {
				t.Errorf("%U leaves no ink", r)
			}
			var area float64
			for _, c := range contours {
				if err := c.Check(); err != nil || !c.Closed() {
					t.Errorf("%U: open contour %v", r, err)
				}
				area += c.Area()
			}
			// The font walks the set union sign U+222A the other way round: filled all the same.
			if area < 0 && r != 0x222A || len(contours) > 0 && math.Abs(area) < 0.01 {
				t.Errorf("%U: area %g mm²", r, area)
			}
			b := boundsOf(contours)
			if !b.Empty() && (b.Min.Y < -f.Ascent(10)*1.2 || b.Max.Y > (f.LineHeight(10)-f.Ascent(10))*1.7) {
				t.Errorf("%U: ink from %.2f to %.2f, ascent %.2f, line height %.2f",
					r, b.Min.Y, b.Max.Y, f.Ascent(10), f.LineHeight(10))
			}
		}
	}
	// 'o' is a ring: one contour clockwise, one the other way. 'HH' sets its letters side by side.
	ring := Regular().Outline("o", 10)
	if len(ring) != 2 || ring[0].Area()*ring[1].Area() >= 0 {
		t.Errorf("o has %d contours, or both in one sense", len(ring))
	}
	one, two := boundsOf(Regular().Outline("H", 10)), boundsOf(Regular().Outline("HH", 10))
	if got, want := two.Width()-one.Width(), Regular().Width("H", 10); math.Abs(got-want) > 1e-9 {
		t.Errorf("second H is %g mm on, want %g", got, want)
	}
	if one.Max.Y != 0 {
		t.Errorf("H stands %g mm off the baseline", one.Max.Y)
	}
	if got := Regular().CapHeight(10); math.Abs(got+one.Min.Y) > 0.01 {
		t.Errorf("capitals are %g mm high, H is %g", got, -one.Min.Y)
	}
}

func TestSharedBetweenGoroutines(t *testing.T) {
	t.Parallel()
	want := len(Regular().Outline("Vorderteil ж", 5))
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			if got := len(Regular().Outline("Vorderteil ж", 5)); got != want {
				t.Errorf("%d contours, want %d", got, want)
			}
		})
	}
	wait.Wait()
}

func TestTTF(t *testing.T) {
	t.Parallel()
	if f := Regular(); &f.TTF()[0] != &goregular.TTF[0] {
		t.Error("TTF is not the embedded file")
	}
}

func BenchmarkWidth(b *testing.B) {
	f := Regular()
	b.ReportAllocs()
	for b.Loop() {
		f.Width("Bust 92.0, waist 76.0, hip 100.0 cm", 4)
	}
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		mustParse(goregular.TTF)
	}
}

func TestWrap(t *testing.T) {
	t.Parallel()
	font := Regular()
	for _, c := range []struct {
		line  string
		width float64
		limit int
		want  []string
	}{
		{"Order A", 100, 2, []string{"Order A"}},
		{"Order A-1042 for spring", 8, 3, []string{"Order A-1042 for", "spring"}},
		{"Order A-1042 for spring and summer", 8, 2, []string{"Order A-1042 for", "spring and sum…"}},
		{"unbreakable", 3, 9, []string{"unbre", "akable"}},
		{"Order A-1042 for spring and summer", 8, 1, []string{"Order A-1042 f…"}},
		{"a word that is unbreakable", 3, 0, []string{"a", "word", "that is", "unbre", "akable"}},
		{"x", 0.01, 1, []string{"x"}},
		{"", 8, 2, nil},
		{"  ", 8, 2, nil},
	} {
		got := font.Wrap(c.line, 1, c.width, c.limit)
		if !slices.Equal(got, c.want) {
			t.Errorf("wrap(%q, %g, %d) = %q, want %q", c.line, c.width, c.limit, got, c.want)
		}
		for _, line := range got {
			if font.Width(line, 1) > c.width && utf8.RuneCountInString(line) > 1 {
				t.Errorf("%q is %.2f ems wide, %.2f allowed", line, font.Width(line, 1), c.width)
			}
		}
	}
}

// The lines of wrapped text fit and lose nothing.
func TestWrapKeepsText(t *testing.T) {
	t.Parallel()
	for _, s := range []string{"", "one", "a longer line with several words in it",
		"averyverylongwordwithoutanyspaceatall", "Ελληνικά и кириллица 🧵"} {
		var all string
		for _, line := range Regular().Wrap(s, 4, 30, 0) {
			if w := Regular().Width(line, 4); w > 30 {
				t.Errorf("%q is %g mm wide", line, w)
			}
			all += line
		}
		if strings.ReplaceAll(all, " ", "") != strings.ReplaceAll(Regular().Line(s, 0), " ", "") {
			t.Errorf("%q became %q", s, all)
		}
	}
}
