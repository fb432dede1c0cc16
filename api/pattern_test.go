package api_test

import (
	"bytes"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/drafting/document"
	"tapeline/drafting/render"
	"tapeline/service"
	"tapeline/service/app"
)

// The making sheet is a file of its own: its tag, its link, and its place in front
// of the pattern's pages unless it is left out.
func TestMakingSheetFile(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1048")
	path := "/v1/orders/" + o.ID.String()
	sheet := b.get(path+"/making-sheet.pdf").want(http.StatusOK, nil)
	if !bytes.HasPrefix(sheet.body, []byte("%PDF-")) ||
		sheet.header.Get("Content-Disposition") != `inline; filename="LL-1048-making-sheet.pdf"` {
		t.Errorf("%.10q %v", sheet.body, sheet.header)
	}
	letter := b.get(path+"/making-sheet.pdf?paper=letter").want(http.StatusOK, nil)
	if letter.header.Get("ETag") == sheet.header.Get("ETag") {
		t.Error("two papers have one tag")
	}
	r := b.do(call{method: "GET", path: path + "/making-sheet.pdf", key: b.keys[service.RoleShop],
		header: map[string]string{"If-None-Match": sheet.header.Get("ETag")}})
	if r.status != http.StatusNotModified || len(r.body) > 0 {
		t.Errorf("If-None-Match gave %d", r.status)
	}
	b.get(path+"/making-sheet.pdf?paper=a0").want(http.StatusBadRequest, nil)

	var made api.LinkWithURL
	b.post(path+"/links", `{"format":"making-sheet","paper":"letter"}`).want(http.StatusCreated, &made)
	at, err := url.Parse(made.URL)
	b.must(err)
	linked := b.do(call{method: "GET", path: at.RequestURI()}).want(http.StatusOK, nil)
	if !bytes.Equal(linked.body, letter.body) {
		t.Error("the link hands out another file")
	}

	with := b.get(path+"/pattern.pdf").want(http.StatusOK, nil)
	without := b.get(path+"/pattern.pdf?making_sheet=none").want(http.StatusOK, nil)
	pages := func(pdf []byte) int { return bytes.Count(pdf, []byte("/Type /Page\n")) }
	if front := pages(sheet.body); front < 1 || pages(with.body) != pages(without.body)+front {
		t.Errorf("%d pages with the making sheet of %d, %d without", pages(with.body), front, pages(without.body))
	}
	roll := b.get(path+"/pattern.pdf?paper=roll-914").want(http.StatusOK, nil)
	if none := b.get(path+"/pattern.pdf?paper=roll-914&making_sheet=none").want(http.StatusOK,
		nil); !bytes.Equal(roll.body,
		none.body) {
		t.Error("a roll has the making sheet without being asked for it")
	}
	if front := b.get(path+"/pattern.pdf?paper=roll-914&making_sheet=front").want(http.StatusOK, nil); pages(front.body) <=
		pages(roll.body) {
		t.Error("a roll has no making sheet when asked for it")
	}
}

func TestPatternFiles(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL 1/2 #7")
	path := "/v1/orders/" + o.ID.String()

	first := b.get(path+"/pattern.pdf").want(http.StatusOK, nil)
	if !bytes.HasPrefix(first.body, []byte("%PDF-")) ||
		first.header.Get("Content-Disposition") != `inline; filename="LL-1-2--7-a4.pdf"` ||
		first.header.Get("Cache-Control") != "private, no-cache" {
		t.Errorf("pdf: %.10q %v", first.body, first.header)
	}
	// The same bytes each time, and with the defaults spelt out.
	again := b.get(path+"/pattern.pdf?paper=a4&orientation=auto&overlap=0&margin=10&revision=1").want(http.StatusOK, nil)
	if !bytes.Equal(first.body, again.body) || first.header.Get("ETag") != again.header.Get("ETag") {
		t.Error("the same file is not the same bytes")
	}
	tags := map[string]string{"": first.header.Get("ETag")}
	for _, query := range []string{"paper=letter", "paper=a0", "paper=full", "paper=roll&width=914",
		"orientation=landscape", "overlap=15", "margin=20", "margin=0", "layers=cut_line,text"} {
		r := b.get(path+"/pattern.pdf?"+query).want(http.StatusOK, nil)
		for other, tag := range tags {
			if tag == r.header.Get("ETag") {
				t.Errorf("%s has the tag of %q", query, other)
			}
		}
		tags[query] = r.header.Get("ETag")
	}
	if tag := b.get(path + "/pattern.pdf?paper=roll-914").header.Get("ETag"); tag != tags["paper=roll&width=914"] {
		t.Error("the same roll, named in two ways, has two tags")
	}
	for header, want := range map[string]int{
		tags[""]: 304, "W/" + tags[""]: 304, `"x", ` + tags[""]: 304, "*": 304, tags["paper=letter"]: 200,
		strings.Trim(tags[""], `"`): 200,
	} {
		r := b.do(call{method: "GET", path: path + "/pattern.pdf", key: b.keys[service.RoleShop],
			header: map[string]string{"If-None-Match": header}})
		if r.status != want || want == 304 && (len(r.body) > 0 || r.header.Get("ETag") != tags[""]) {
			t.Errorf("If-None-Match %s gave %d with %d bytes, want %d", header, r.status, len(r.body), want)
		}
	}
	// The revision's hash is that of the document without its label.
	published, err := document.Decode(b.get(path+"/pattern.json").want(http.StatusOK, nil).body)
	b.must(err)
	if published.Label == nil || published.Reference != o.Reference || published.Revision != 1 {
		t.Errorf("the label is %+v", published.Label)
	}
	published.Label = nil
	stored, err := published.Encode()
	b.must(err)
	var revisions api.DraftRevisionList
	b.get(path+"/revisions").want(http.StatusOK, &revisions)
	if sum := document.Hash(stored); hex.EncodeToString(sum[:]) != revisions.Items[0].Hash {
		t.Error("the document is not what its hash says")
	}

	p := b.get(path+"/pattern.pdf?paper=roll-300").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Parameter != "paper" {
		t.Errorf("too narrow a roll: %+v", p.Errors)
	}
	b.get(path+"/pattern.pdf?revision=2").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.get("/v1/orders/"+uuid.NewString()+"/pattern.pdf").problem(http.StatusNotFound, api.ProblemCodeNotFound)
}

// Every format of the render package is there, of the current and of a former
// revision, by link and for a preview: the same file, and known again by its tag.
func TestEveryFormat(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL 1/2 #7")
	path := "/v1/orders/" + o.ID.String()
	options := map[string]object{
		"pdf":  {"paper": "roll", "width": 914, "layers": []string{"cut_line", "text"}, "margin": 0},
		"svg":  {"for": "screens", "text": "letters"},
		"dxf":  {"unit": "inch", "folds": "unfolded", "flatten": 0.5},
		"png":  {"width": 320},
		"json": {"flatten": 0.05},
	}
	names := map[string]string{"pdf": "LL-1-2--7-roll-914.pdf", "json": "LL-1-2--7.json", "svg": "LL-1-2--7.svg",
		"dxf": "LL-1-2--7.dxf", "png": "LL-1-2--7.png"}
	first := map[string]reply{}
	for _, f := range render.Formats() {
		file := path + "/pattern." + f.Name
		bare := b.get(file).want(http.StatusOK, nil)
		query := url.Values{}
		for name, v := range options[f.Name] {
			if l, ok := v.([]string); ok {
				v = strings.Join(l, ",")
			}
			query.Set(name, fmt.Sprint(v))
		}
		r := b.get(file+"?"+query.Encode()).want(http.StatusOK, nil)
		first[f.Name] = r
		tag := r.header.Get("ETag")
		if r.header.Get("Content-Type") != f.MediaType ||
			r.header.Get("Content-Disposition") != fmt.Sprintf("inline; filename=%q", names[f.Name]) {
			t.Errorf("%s: %v", f.Name, r.header)
		}
		if same := bytes.Equal(r.body, bare.body); same != (len(options[f.Name]) == 0) ||
			same != (tag == bare.header.Get("ETag")) {
			t.Errorf("%s: the options change nothing", f.Name)
		}
		known := b.do(call{method: "GET", path: file + "?" + query.Encode(), key: b.keys[service.RoleShop],
			header: map[string]string{"If-None-Match": tag}})
		if known.status != http.StatusNotModified || len(known.body) > 0 {
			t.Errorf("%s: known by its tag, yet %d", f.Name, known.status)
		}
		var made api.LinkWithURL
		b.post(path+"/links", options[f.Name].with("format", f.Name)).want(http.StatusCreated, &made)
		linked := b.do(call{method: "GET", path: strings.TrimPrefix(made.URL, "http://tapeline.test")}).
			want(http.StatusOK, nil)
		if !bytes.Equal(linked.body, r.body) || linked.header.Get("Content-Type") != f.MediaType ||
			linked.header.Get("ETag") != tag {
			t.Errorf("%s: the link gives another file", f.Name)
		}
		preview := b.post("/v1/drafts?format="+f.Name+"&"+query.Encode(), object{"unit": "cm", "measurements": figure()}).
			want(http.StatusOK, nil)
		if preview.header.Get("Content-Type") != f.MediaType || !bytes.Equal(preview.body[:4], r.body[:4]) {
			t.Errorf("%s of a preview: %.20q", f.Name, preview.body)
		}
	}
	b.post(path+"/revise", object{"reason": "first fitting", "fit": "loose"}).want(http.StatusOK, nil)
	b.settled(o.ID)
	for _, f := range render.Formats() {
		former := b.get(path+"/pattern."+f.Name+"?revision=1").want(http.StatusOK, nil)
		current := b.get(path+"/pattern."+f.Name).want(http.StatusOK, nil)
		if bytes.Equal(former.body, current.body) || former.header.Get("ETag") == current.header.Get("ETag") {
			t.Errorf("%s: both revisions are the same", f.Name)
		}
	}
}

// A wrong request is refused with all that is wrong and what is accepted.
func TestWrongFileOptions(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	path := "/v1/orders/" + o.ID.String()
	for _, c := range []struct {
		file            string
		code            api.FieldErrorCode
		parameter, says string
		status          int
	}{
		{"pattern.gif", api.FieldErrorCodeNotAChoice, "format", "one of pdf, json, svg, dxf, png", 400},
		{"pattern.pdf?paper=a9", api.FieldErrorCodeNotAChoice, "paper", "a4, a3,", 422},
		{"pattern.pdf?paper=A4", api.FieldErrorCodeNotAChoice, "paper", "a4, a3,", 422},
		{"pattern.pdf?paper=roll", api.FieldErrorCodeMissing, "width", "the width of the roll in mm", 422},
		{"pattern.pdf?paper=roll&width=100", api.FieldErrorCodeOutOfRange, "width", "250 to 2500 mm", 422},
		{"pattern.pdf?paper=roll&width=300", api.FieldErrorCodeOutOfRange, "paper",
			"piece 3 of 3, sleeve, needs a roll at least", 422},
		{"pattern.pdf?paper=a4&width=300", api.FieldErrorCodeContradiction, "width", "with paper roll alone", 422},
		{"pattern.pdf?text=letters", api.FieldErrorCodeUnknownField, "text", "which has paper, width,", 422},
		{"pattern.pdf?layers=cut_line,lace", api.FieldErrorCodeNotAChoice, "layers", "one of cut_line, seam_line,", 400},
		{"pattern.pdf?layer=cut_line", api.FieldErrorCodeUnknownField, "layer", "layers", 400},
		{"pattern.json?paper=a4", api.FieldErrorCodeUnknownField, "paper", "which has flatten", 422},
		{"pattern.svg?for=tv", api.FieldErrorCodeNotAChoice, "for", "one of editing, screens", 400},
		{"pattern.svg?text=runes", api.FieldErrorCodeNotAChoice, "text", "one of outlines, letters", 400},
		{"pattern.svg?margin=0", api.FieldErrorCodeUnknownField, "margin", "which has for, text", 422},
		{"pattern.dxf?unit=cubit", api.FieldErrorCodeNotAChoice, "unit", "one of mm, inch", 400},
		{"pattern.dxf?folds=twice", api.FieldErrorCodeNotAChoice, "folds", "one of half, unfolded", 400},
		{"pattern.dxf?flatten=2", api.FieldErrorCodeOutOfRange, "flatten", "0.01 to 1", 400},
		{"pattern.png?width=20", api.FieldErrorCodeOutOfRange, "width", "64 to 2500", 400},
		{"pattern.png?width=2450", api.FieldErrorCodeOutOfRange, "width", "64 to 2400 pixels", 422},
		{"pattern.png?width=300.5", api.FieldErrorCodeOutOfRange, "width", "a whole number", 422},
		{"pattern.png?width=wide", api.FieldErrorCodeWrongType, "width", "a number", 400},
	} {
		code := api.ProblemCodeInvalidRequest
		if c.status == 422 {
			code = api.ProblemCodeInvalidInput
		}
		e := b.get(path+"/"+c.file).problem(c.status, code).Errors[0]
		if e.Code != c.code || e.Parameter != c.parameter || !strings.Contains(e.Detail, c.says) {
			t.Errorf("%s: %+v", c.file, e)
		}
	}
	// The same beside a body: the options of a preview are in the query, those of a link in the body.
	e := b.post("/v1/drafts?format=dxf&text=letters", object{"unit": "cm", "measurements": figure()}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput).Errors[0]
	if e.Parameter != "text" || e.Pointer != "" {
		t.Errorf("of a preview: %+v", e)
	}
	e = b.post(path+"/links", object{"format": "dxf", "text": "letters"}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput).Errors[0]
	if e.Parameter != "" || e.Pointer != "#/text" {
		t.Errorf("of a link: %+v", e)
	}
	// A link that could never be followed is not made.
	e = b.post(path+"/links", object{"paper": "roll", "width": 300}).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput).Errors[0]
	if e.Pointer != "#/paper" || !strings.Contains(e.Detail, "sleeve, needs a roll") {
		t.Errorf("of a link to a roll that is too narrow: %+v", e)
	}
	var links api.LinkList
	if b.get(path+"/links").want(http.StatusOK, &links); len(links.Items) > 0 {
		t.Errorf("links were made: %+v", links.Items)
	}
}

// The page counts are those of the files, read by another program.
func TestPageCounts(t *testing.T) {
	t.Parallel()
	b := setup(t)
	o := b.ready("LL-1")
	var counts api.PageCountList
	b.get("/v1/orders/"+o.ID.String()+"/pages").want(http.StatusOK, &counts)
	if len(counts.Items) < 11 {
		t.Errorf("%d papers", len(counts.Items))
	}
	qpdf := reader(t, "qpdf")
	for _, c := range counts.Items {
		r := b.get("/v1/orders/"+o.ID.String()+"/pattern.pdf?making_sheet=none&paper="+c.Paper).want(http.StatusOK, nil)
		file := filepath.Join(t.TempDir(), c.Paper+".pdf")
		b.must(os.WriteFile(file, r.body, 0o600))
		out, err := exec.CommandContext(t.Context(), qpdf, "--show-npages", file).CombinedOutput()
		if err != nil {
			t.Fatalf("qpdf: %v: %s", err, out)
		}
		if n, _ := strconv.Atoi(strings.TrimSpace(string(out))); n != c.Pages {
			t.Errorf("%s: %d pages are promised and the file has %d", c.Paper, c.Pages, n)
		}
	}
}

// reader finds a program that the project did not write, to read files with.
func reader(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

func TestPreviewDraftStoresNothing(t *testing.T) {
	t.Parallel()
	b := setup(t)
	body := object{"unit": "cm", "measurements": figure(), "block": "torso", "fit": "close"}
	var p api.Pattern
	b.post("/v1/drafts", body).want(http.StatusOK, &p)
	if len(p.Pieces) < 3 || len(p.Checks) == 0 {
		t.Errorf("preview has %d pieces and %d checks", len(p.Pieces), len(p.Checks))
	}
	svg := b.post("/v1/drafts?format=svg", body).want(http.StatusOK, nil)
	var root struct {
		XMLName xml.Name
		Groups  []struct {
			ID string `xml:"id,attr"`
		} `xml:"g"`
	}
	if err := xml.Unmarshal(svg.body, &root); err != nil || root.XMLName.Local != "svg" ||
		len(root.Groups) != len(p.Pieces) {
		t.Errorf("the picture: %v, %s with %d groups for %d pieces", err, root.XMLName.Local, len(root.Groups), len(p.Pieces))
	}
	problem := b.post("/v1/drafts", body.with("measurements", figure().with("scye_depth", 34.5))).
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if problem.Errors[0].Code != api.FieldErrorCodeUndraftable {
		t.Errorf("errors: %+v", problem.Errors)
	}
	b.post("/v1/drafts", body.with("measurement_set_id", uuid.NewString())).
		problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	problem = b.post("/v1/drafts", body.with("measurements", nil)).
		problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	if len(problem.Errors) != 2 {
		t.Errorf("errors: %+v", problem.Errors)
	}
	o := b.ready("LL-1")
	b.post("/v1/drafts", body.with("measurements", nil).with("measurement_set_id", o.MeasurementSetID)).
		want(http.StatusOK, nil)
	var orders api.OrderList
	b.get("/v1/orders").want(http.StatusOK, &orders)
	if len(orders.Items) != 1 {
		t.Errorf("a preview was stored: %+v", orders.Items)
	}
}

func TestDownloadLinks(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	now := time.Now()
	at := func(t time.Time) { mu.Lock(); defer mu.Unlock(); now = t }
	b := setup(t, func(c *app.Config, _ *api.Config) {
		c.Now = func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	})
	o := b.ready("LL-1")
	l := linkBench{bench: b, order: o.ID, path: "/v1/orders/" + o.ID.String(), at: at}
	l.uses()
	l.usesAtOnce()
	l.forgeries()
	l.pages()
	l.lifetime()
}

// linkBench makes and follows links to the files of an order.
type linkBench struct {
	*bench
	order uuid.UUID
	path  string
	at    func(time.Time) // sets the service's clock
}

func (l linkBench) made(body object) (made api.LinkWithURL, address string) {
	l.Helper()
	l.post(l.path+"/links", body).want(http.StatusCreated, &made)
	return made, strings.TrimPrefix(made.URL, "http://tapeline.test")
}

func (l linkBench) follow(address string, header ...string) reply {
	l.Helper()
	c := call{method: "GET", path: address}
	if header != nil {
		c.header = map[string]string{header[0]: header[1]}
	}
	return l.do(c)
}

// uses checks that a link gives the file as often as its limit of uses, and that
// an unchanged file costs no use.
func (l linkBench) uses() {
	link, address := l.made(object{"paper": "letter", "max_uses": 2})
	r := l.follow(address).want(http.StatusOK, nil)
	direct := l.get(l.path+"/pattern.pdf?paper=letter").want(http.StatusOK, nil)
	if !bytes.Equal(r.body, direct.body) {
		l.Error("the link gives another file")
	}
	for range 3 {
		l.follow(address, "If-None-Match", r.header.Get("ETag")).want(http.StatusNotModified, nil)
	}
	l.follow(address).want(http.StatusOK, nil)
	l.follow(address).problem(http.StatusGone, api.ProblemCodeLinkUsedUp)
	list := l.get(l.path+"/links").want(http.StatusOK, nil)
	if strings.Contains(string(list.body), "signature") {
		l.Errorf("the list shows the signature: %s", list.body)
	}
	var links api.LinkList
	list.want(http.StatusOK, &links)
	if len(links.Items) != 1 || links.Items[0].Uses != 2 || links.Items[0].ID != link.Link.ID {
		l.Errorf("links: %+v", links.Items)
	}
}

// usesAtOnce checks that concurrent requests keep to the limit of uses.
func (l linkBench) usesAtOnce() {
	_, address := l.made(object{"max_uses": 3})
	var wg sync.WaitGroup
	var got sync.Map
	for i := range 12 {
		wg.Go(func() { got.Store(i, l.follow(address).status) })
	}
	wg.Wait()
	n := 0
	got.Range(func(_, status any) bool {
		if status == http.StatusOK {
			n++
		}
		return true
	})
	if n != 3 {
		l.Errorf("a link for 3 uses was used %d times", n)
	}
}

// forgeries checks that a changed address and a revoked link are refused.
func (l linkBench) forgeries() {
	link, address := l.made(object{"format": "json"})
	l.follow(address).want(http.StatusOK, nil)
	other, _ := l.made(object{})
	for what, forged := range map[string]string{
		"another link": strings.Replace(address, link.Link.ID.String(), other.Link.ID.String(), 1),
		"no such link": strings.Replace(address, link.Link.ID.String(), uuid.NewString(), 1),
		"a later expiry": strings.Replace(address, fmt.Sprint(link.Link.ExpiresAt.Unix()),
			fmt.Sprint(link.Link.ExpiresAt.Unix()+1), 1),
		"a signature": address[:len(address)-43] + strings.Repeat("A", 43),
	} {
		if p := l.follow(forged).problem(http.StatusUnauthorized, api.ProblemCodeSignatureInvalid); p.Code == "" {
			l.Errorf("%s", what)
		}
	}
	l.follow(strings.Split(address, "&")[0]).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)

	l.as(service.RoleShop, "DELETE", l.path+"/links/"+link.Link.ID.String(), nil).want(http.StatusNoContent, nil)
	l.follow(address).problem(http.StatusGone, api.ProblemCodeLinkRevoked)
	l.as(service.RoleShop, "DELETE", l.path+"/links/"+uuid.NewString(), nil).
		problem(http.StatusNotFound, api.ProblemCodeNotFound)
}

// lifetime checks that a link gives the revision that it was made for, until it
// expires or the order is cancelled.
func (l linkBench) lifetime() {
	_, address := l.made(object{"format": "json", "max_uses": 100})
	before := l.follow(address).want(http.StatusOK, nil)
	l.post(l.path+"/revise", object{"reason": "first fitting", "fit": "loose"}).want(http.StatusOK, nil)
	l.settled(l.order)
	if after := l.follow(address).want(http.StatusOK, nil); !bytes.Equal(before.body, after.body) {
		l.Error("the link now gives another revision")
	}
	began := time.Now()
	l.at(began.Add(8 * 24 * time.Hour))
	l.follow(address).problem(http.StatusGone, api.ProblemCodeLinkExpired)
	l.at(began)
	l.post(l.path+"/cancel", object{"reason": "over"}).want(http.StatusOK, nil)
	l.follow(address).problem(http.StatusGone, api.ProblemCodeOrderCancelled)
	l.post(l.path+"/links", object{}).problem(http.StatusGone, api.ProblemCodeOrderCancelled)
}
