package patterns

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db/query"
	"tapeline/drafting/document"
	"tapeline/drafting/finish"
	"tapeline/drafting/ordertest"
	"tapeline/service"
	"tapeline/service/work"
)

// sample is the draft of a sample order.
func sample(t *testing.T) finish.Pattern { return ordertest.Patterns(t)["torso"] }

// A draft equals the stored one if only its revision differs, and not if its
// document or its label does.
func TestRecordEquals(t *testing.T) {
	t.Parallel()
	p := sample(t)
	stored, err := NewRecord(p)
	if err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		change func(*finish.Pattern)
		equal  bool
	}{
		"nothing":      {func(*finish.Pattern) {}, true},
		"its revision": {func(p *finish.Pattern) { p.Label.Revision++ }, true},
		"its date":     {func(p *finish.Pattern) { p.Label.Date = "2026-02-28" }, false},
		"a measure":    {func(p *finish.Pattern) { p.Label.Measures = p.Label.Measures[1:] }, false},
		"its style":    {func(p *finish.Pattern) { p.Style += "!" }, false},
		"a piece":      {func(p *finish.Pattern) { p.Pieces = p.Pieces[1:] }, false},
	} {
		q := p
		c.change(&q)
		r, err := NewRecord(q)
		if err != nil {
			t.Fatal(err)
		}
		// The database stores a label in its own notation.
		if got := r.Equals(stored.Hash[:], append([]byte(" "), stored.Label...)); got != c.equal {
			t.Errorf("with %s changed: equal %t", what, got)
		}
	}
	back, err := Decode(stored.Document)
	if err != nil || len(back.Pieces) != len(p.Pieces) || document.Hash(stored.Document) != stored.Hash {
		t.Errorf("read back %d pieces, %v", len(back.Pieces), err)
	}
}

// A caller that disconnects frees its core within 100 ms, in every format.
func TestRenderEndsWithItsCaller(t *testing.T) {
	t.Parallel()
	s := New(nil, Config{Cores: work.NewCores(work.Options{Processors: 2}), Rendered: func(string, time.Duration) {}})
	p := sample(t)
	for _, name := range []string{"pdf", "svg", "png"} {
		format, o, err := ParseOptions(name, Options{})
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		var gone time.Time
		_, err = s.Render(ctx, uuid.Nil, format, o, func(context.Context) (finish.Pattern, error) {
			gone = time.Now()
			cancel()
			return p, nil
		})
		if took := time.Since(gone); !errors.Is(err, context.Canceled) || took > 100*time.Millisecond {
			t.Errorf("%s: %v after %v", name, err, took)
		}
	}
}

func TestParseOptions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		format string
		o      Options
	}{{"gif", Options{}}, {"pdf", Options{Flatten: 1}}, {"json", Options{Flatten: 7}}, {"svg", Options{For: "fun"}}} {
		_, _, err := ParseOptions(c.format, c.o)
		if e, ok := errors.AsType[*service.Error](err); !ok || e.Code != service.CodeInvalidInput || !e.OfFile ||
			len(e.Faults) != 1 {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

func TestFollowable(t *testing.T) {
	t.Parallel()
	now := time.Now()
	good := query.FollowedLinkRow{Status: statusReady, DownloadLink: query.DownloadLink{MaxUses: 2, Uses: 1,
		ExpiresAt: now.Add(1)}}
	if err := followable(good, now); err != nil {
		t.Error(err)
	}
	for want, spoil := range map[service.Code]func(*query.FollowedLinkRow){
		service.CodeLinkRevoked:    func(l *query.FollowedLinkRow) { l.DownloadLink.RevokedAt = &now },
		service.CodeLinkExpired:    func(l *query.FollowedLinkRow) { l.DownloadLink.ExpiresAt = now },
		service.CodeErased:         func(l *query.FollowedLinkRow) { l.Erased = true },
		service.CodeOrderCancelled: func(l *query.FollowedLinkRow) { l.Status = statusCancelled },
		service.CodeLinkUsedUp:     func(l *query.FollowedLinkRow) { l.DownloadLink.Uses = 2 },
	} {
		l := good
		spoil(&l)
		if e, ok := errors.AsType[*service.Error](followable(l, now)); !ok || e.Code != want {
			t.Errorf("%v, want %s", e, want)
		}
	}
}

// A tag differs with all that a file is made from.
func TestTag(t *testing.T) {
	t.Parallel()
	s := New(nil, Config{Version: "1"})
	head := query.DraftHead{Hash: []byte{1}, Number: 1, Label: []byte(`{"a":1}`)}
	tags := map[string]bool{s.tag(head, "pdf", Options{}): true}
	for _, change := range []func(h *query.DraftHead, format *string, o *Options){
		func(h *query.DraftHead, _ *string, _ *Options) { h.Hash = []byte{2} },
		func(h *query.DraftHead, _ *string, _ *Options) { h.Number = 2 },
		func(h *query.DraftHead, _ *string, _ *Options) { h.Label = []byte(`{"a":2}`) },
		func(_ *query.DraftHead, format *string, _ *Options) { *format = "svg" },
		func(_ *query.DraftHead, _ *string, o *Options) { o.Paper = "a3" },
	} {
		h, format, o := head, "pdf", Options{}
		change(&h, &format, &o)
		tags[s.tag(h, format, o)] = true
	}
	if len(tags) != 6 {
		t.Errorf("%d tags of 6 files", len(tags))
	}
	if !tags[s.tag(head, "pdf", Options{})] {
		t.Error("a tag changes")
	}
}
