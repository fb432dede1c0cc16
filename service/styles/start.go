package styles

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"tapeline/drafting/block"
	"tapeline/drafting/body"
	"tapeline/drafting/fault"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
	"tapeline/service"
)

// A Start is a block, or a block with its sleeve, to begin a style with.
type Start struct{ Name, Title, About string }

// Starts returns what a style can begin with besides another style.
func Starts() []Start {
	return []Start{
		{"torso", "Fitted torso, no sleeves", "Front and back to the hip, with bust and waist darts: dresses, bodices."},
		{"torso_sleeve", "Fitted torso with sleeves", "The same with a set-in sleeve."},
		{"straight", "Straight torso, no sleeves", "Front and back to the hip without darts: for tops, shirts and jackets."},
		{"straight_sleeve", "Straight torso with sleeves", "The same with a set-in sleeve."},
		{"knit_torso", "Knit torso with sleeves", "Front, back and a set-in sleeve, of a knit that stretches."},
		{"jacket", "Jacket", "Front, side panel and back to the hip, with a sleeve of two pieces: jackets, coats."},
		{"skirt", "Straight skirt", "Front and back to the knee with waist darts, a zip at the back and a waistband."},
		{"circle_skirt", "Circle skirt", "Half a circle to the knee without darts, a zip at the back and a waistband."},
		{"trousers", "Trousers", "Front and back of a straight leg, with waist darts."},
		{"knit_leg", "Leggings", "One piece a leg, of a knit that stretches both ways, with elastic at the waist."},
	}
}

//go:embed starts/*.star
var starts embed.FS

// startPrefix marks what begins with a block among the names of what a style can begin
// with: no slug has a colon.
const startPrefix = "block:"

// SmallTop is the name by which StartFrom knows the small top.
const SmallTop = "small:top"

// From returns the name by which StartFrom knows the start.
func (s Start) From() string { return startPrefix + s.Name }

// Script returns the script that begins with the block.
func (s Start) Script() string {
	script, err := starts.ReadFile("starts/" + s.Name + ".star")
	if err != nil {
		panic(err) // a test reads all
	}
	return string(script)
}

// CheckTitle returns what is wrong with the title of a new style.
func CheckTitle(title string) service.Faults {
	title = strings.TrimSpace(title)
	if title != "" && len(title) <= style.MaxTitle && !strings.ContainsFunc(title, unicode.IsControl) {
		return nil
	}
	return fault.List{{Code: fault.Range, Field: "/title", Value: fault.Shorten(title),
		Accepted: fmt.Sprintf("a title of one line of 1 to %d bytes", style.MaxTitle)}}
}

// StartFrom returns a script to begin a new style with: that of a Start, or of a style by
// its slug, or without one a small top. It has a slug that neither the shop nor the
// program has, and the title, if there is one.
func (s *Service) StartFrom(ctx context.Context, caller service.Caller, from, title string) (string, error) {
	script, err := s.startScript(ctx, caller, from)
	if err != nil {
		return "", err
	}
	taken, err := s.store.StyleSlugs(ctx, caller.Owner())
	if err != nil {
		return "", err
	}
	garment, err := s.compile(script)
	if err != nil {
		return "", err
	}
	slug, title := garment.Head.Slug, strings.TrimSpace(title)
	if title != "" {
		slug = slugOf(title)
	}
	return retitled(script, unused(slug, taken), title)
}

func (s *Service) startScript(ctx context.Context, caller service.Caller, from string) (string, error) {
	if from == "" || from == SmallTop {
		return Template(), nil
	}
	if name, ok := strings.CutPrefix(from, startPrefix); ok {
		i := slices.IndexFunc(Starts(), func(s Start) bool { return s.Name == name })
		if i < 0 {
			return "", service.NotFound("block")
		}
		return Starts()[i].Script(), nil
	}
	script, err := s.Script(ctx, caller, from, 0)
	if e, ok := errors.AsType[*service.Error](err); !ok || e.Code != service.CodeNotFound {
		return script, err
	}
	detail, err := s.Style(ctx, caller, from, body.Centimetre) // none is published: the latest
	if err != nil {
		return "", err
	}
	return s.Script(ctx, caller, from, detail.Revision.Number)
}

// unused returns a slug that no style has.
func unused(slug string, taken []string) string {
	next := slug
	for n := 2; ; n++ {
		_, builtin := style.Builtin(next)
		if _, isBlock := block.Find(next); !builtin && !isBlock && !slices.Contains(taken, next) {
			return next
		}
		next = fmt.Sprintf("%s-%d", slug, n)
	}
}

var notInSlug = regexp.MustCompile(`[^a-z0-9]+`)

// longestSlug is the most characters of a slug, without a number behind it.
const longestSlug = 50

// slugOf returns a slug for a title: "style" for one without letters of the Latin
// alphabet.
func slugOf(title string) string {
	slug := strings.Trim(notInSlug.ReplaceAllString(strings.ToLower(title), "-"), "-")
	slug = strings.TrimSuffix(slug[:min(len(slug), longestSlug)], "-")
	if slug == "" || slug[0] >= '0' && slug[0] <= '9' {
		slug = strings.TrimSuffix("style-"+slug, "-")
	}
	return slug
}

// retitled returns a script with another slug, and with another title if there is one.
func retitled(script, slug, title string) (string, error) {
	for _, head := range []struct{ param, text string }{{"title", title}, {"slug", slug}} {
		if head.text == "" {
			continue
		}
		read, err := sentence.Read(script, body.Centimetre)
		if err != nil {
			return "", err
		}
		at, ok := read.Head()
		if !ok {
			return "", fmt.Errorf("the script declares no style(...)")
		}
		script, err = read.SetArgument(at, head.param, "", Value{Form: sentence.Word, Word: head.text})
		if err != nil {
			return "", err
		}
	}
	return script, nil
}
