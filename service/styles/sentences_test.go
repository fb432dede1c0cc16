package styles

import (
	"strings"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/cache"
	"tapeline/service/work"
)

// trying returns the use cases that need no store.
func trying() *Service {
	return &Service{cfg: Config{Cores: work.NewCores(work.Options{})},
		scripts: cache.New(cacheBytes, (*style.Style).Memory),
		panels:  cache.New(panelBytes, weighPanel), findings: cache.New(findingsBytes, weighFindings),
		trials: work.NewAtOnce("trials of scripts", 4)}
}

// A script is read in sentences, changed by one of them, and drafted with the lines that
// its edges come from.
func TestChangeSentences(t *testing.T) {
	t.Parallel()
	s, script := trying(), Template()
	read, p := ReadSentences(script, body.Centimetre)
	if p != nil {
		t.Fatal(p)
	}
	var blank Span
	var call Span
	line := 0
	for _, section := range read.Sections {
		if section.Name != "make" {
			continue
		}
		for _, st := range section.Statements {
			for _, x := range st.Sentences {
				for _, part := range x.Parts {
					if b := part.Blank; b != nil && x.Verb == "drop" && b.Param == "neighbour" && line == 0 {
						blank, call, line = b.Span, x.Span, st.Line
					}
				}
			}
		}
	}
	if line == 0 {
		t.Fatal("the template lowers nothing")
	}
	changed, p, err := s.ChangeSentences(t.Context(), service.Caller{}, script,
		Edit{Act: SetBlank, At: blank, Value: Value{Form: "number", Number: 41}})
	if err != nil || p != nil {
		t.Fatal(p, err)
	}
	if want := script[:blank.Start] + "41" + script[blank.End:]; changed != want {
		t.Errorf("got\n%s", changed)
	}
	tried, err := s.Try(t.Context(), service.Caller{}, Trial{Script: changed, Origins: true})
	if err != nil || tried.Problem != nil {
		t.Fatal(tried.Problem, err)
	}
	found := false
	for _, o := range tried.Origins {
		found = found || o.Kind == "edge" && o.Changed == line
	}
	if !found {
		t.Errorf("no edge was changed at line %d: %+v", line, tried.Origins)
	}
	for _, e := range []Edit{
		{Act: SetBlank, At: blank, Value: Value{Form: "variable", Word: "nobody"}},
		{Act: SetArgument, At: call, Param: "colour", Value: Value{Form: "number"}},
		{Act: "sew", At: call},
	} {
		same, p, err := s.ChangeSentences(t.Context(), service.Caller{}, script, e)
		if err != nil || p == nil || p.Reason == "" || same != script {
			t.Errorf("%s: problem %v, error %v", e.Act, p, err)
		}
	}
}

// What does not parse says its line, and nothing is asked for that is not wanted.
func TestReadSentences(t *testing.T) {
	t.Parallel()
	if _, p := ReadSentences("x = 1\ny = (", body.Inch); p == nil || p.Line != 2 {
		t.Errorf("got %+v", p)
	}
	if _, p := ReadSentences(strings.Repeat("#", MaxScript+1), body.Inch); p == nil || p.Reason == "" {
		t.Errorf("got %+v", p)
	}
	tried, err := trying().Try(t.Context(), service.Caller{}, Trial{Script: Template()})
	if err != nil || tried.Problem != nil || tried.Origins != nil {
		t.Errorf("got %+v, %v", tried.Problem, err)
	}
	if offers := Offers(Pick{Kind: style.KindEdge, Piece: "front", As: "front", Name: "hem"}); len(offers) < 10 {
		t.Errorf("%d offers for a hem", len(offers))
	}
}
