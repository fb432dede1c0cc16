package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"tapeline/api"
	"tapeline/drafting/style"
	"tapeline/service"
)

// A style is uploaded, proved, published and retired.
func TestStyleFromScriptToRetirement(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": tabard, "reason": "first"})
	var made api.StyleRevisionDetail
	r.want(http.StatusCreated, &made)
	rev := made.Revision
	if r.header.Get("Location") != "/v1/styles/tabard/revisions/1" {
		t.Errorf("uploaded: at %s", r.header.Get("Location"))
	}
	checkUploaded(t, made)
	path := revisionPath(rev)
	// The revision is read back, and in another unit.
	b.as(service.RoleShop, "GET", path+"?unit=inch", nil).want(http.StatusOK, &made)
	if *made.Description.Choices[0].Max != 2.36 || made.Description.Unit != "inch" {
		t.Errorf("in inches: %+v", made.Description.Choices[0])
	}
	script := b.get("/v1/styles/tabard/script?revision=1").want(http.StatusOK, nil)
	if string(script.body) != tabard {
		t.Errorf("script: %s", script.body)
	}
	b.as(service.RoleShop, "GET", "/v1/styles/tabard/script", nil).problem(http.StatusForbidden, api.ProblemCodeForbidden)

	order := styleOrder("LL-1", "tabard")
	b.takesNoOrder(rev, order)
	b.proveAndPublish(&rev)
	var o api.Order
	b.order(order, "b").want(http.StatusCreated, &o)
	o = b.settled(o.ID)

	b.listsOwnStyleFirst()

	// A retired style takes no new order; an order that has it can be revised.
	b.post(path+"/retire", nil).want(http.StatusOK, &rev)
	if rev.Status != api.StyleStatusRetired || rev.RetiredAt.IsZero() {
		t.Errorf("retired: %+v", rev)
	}
	b.post(path+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.post(path+"/proofs", mara).problem(http.StatusConflict, api.ProblemCodeWrongState)
	b.order(order.with("reference", "LL-2"), "c").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	b.post("/v1/orders/"+o.ID.String()+"/revise", object{"reason": "other neck",
		"choices": object{"drop": 3}}).want(http.StatusOK, nil)
	if o = b.settled(o.ID); o.Status != api.OrderStatusReady || o.Revision != 2 || o.StyleRevision != 1 {
		t.Errorf("order: %+v", o)
	}
	var audit api.AuditList
	b.get("/v1/audit?limit=200").want(http.StatusOK, &audit)
	var actions []string
	for _, e := range audit.Items {
		if strings.HasPrefix(e.Action, "style") {
			actions = append(actions, e.Action)
		}
	}
	if want := []string{"style.retired", "style.published", "style.proved", "style_proof.started", "style_proof.started",
		"style.uploaded"}; !slices.Equal(actions, want) {
		t.Errorf("audit: %v", actions)
	}
}

// checkUploaded checks the first revision of the tabard.
func checkUploaded(t *testing.T, made api.StyleRevisionDetail) {
	t.Helper()
	rev := made.Revision
	if rev.Slug != "tabard" || rev.Number != 1 || rev.Status != api.StyleStatusDraft || rev.Reason != "first" {
		t.Errorf("uploaded: %+v", rev)
	}
	var rules []string
	for _, f := range rev.Warnings {
		rules = append(rules, fmt.Sprint(f.Rule, " ", f.Line, " ", f.Detail))
	}
	if len(rules) == 0 || !strings.HasPrefix(rules[0], "choice_unused 8 the choice lined") {
		t.Errorf("warnings: %q", rules)
	}
	d := made.Description
	if d.Unit != "cm" || len(d.Fits) != 2 || len(d.Choices) != 3 || *d.Choices[0].Max != 6 ||
		d.Choices[0].Default != 2.0 || d.Choices[1].Default != false ||
		!slices.Contains(d.Requires, "bust_girth") {
		t.Errorf("description: %+v", d)
	}
}

// takesNoOrder checks that an unproved revision takes no order and is not
// published, but drafts a preview.
func (b *bench) takesNoOrder(rev api.StyleRevision, order object) {
	b.Helper()
	path := revisionPath(rev)
	p := b.order(order, "a").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#/style" {
		b.Errorf("errors: %+v", p.Errors)
	}
	p = b.order(order.with("style_revision", 1), "a").
		problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#/style_revision" || !strings.Contains(p.Errors[0].Detail, "draft") {
		b.Errorf("errors: %+v", p.Errors)
	}
	b.post("/v1/drafts", object{"unit": "cm", "measurements": figure(), "style": "tabard",
		"style_revision": 1}).want(http.StatusOK, nil)
	p = b.post(path+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	if !strings.Contains(p.Detail, "not been proved") {
		b.Errorf("not proved: %s", p.Detail)
	}
	b.as(service.RoleShop, "POST", path+"/publish", nil).problem(http.StatusForbidden, api.ProblemCodeForbidden)
}

// proveAndPublish proves a revision, on one body and then on enough of them, and
// publishes it.
func (b *bench) proveAndPublish(rev *api.StyleRevision) {
	b.Helper()
	path := revisionPath(*rev)
	b.prove(*rev, mara)
	problem := b.post(path+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	if !strings.Contains(problem.Detail, "1 bodies; at least 20") {
		b.Errorf("proved on one: %s", problem.Detail)
	}
	p := b.prove(*rev, crowd(20))
	if p.Status != api.ProofStatusDone || p.Done != 20*tabardVariants || p.Total != p.Done ||
		p.Report.Counts.Drafted != p.Done ||
		p.Rate <= 0 || !strings.HasPrefix(p.Report.Cloth.Max.Draft.Body, "line ") ||
		p.Report.Sheets == nil || len(p.Report.Checks) == 0 || len(p.Report.Variants) != tabardVariants {
		b.Errorf("proof: %+v", p)
	}
	var made api.StyleRevisionDetail
	b.get(path).want(http.StatusOK, &made)
	if made.Revision.Status != api.StyleStatusProved || made.Revision.ProofID != p.ID {
		b.Errorf("proved: %+v", made.Revision)
	}
	b.post(path+"/publish", nil).want(http.StatusOK, rev)
	if rev.Status != api.StyleStatusPublished || rev.PublishedAt.IsZero() {
		b.Errorf("published: %+v", rev)
	}
	published := rev.PublishedAt
	b.post(path+"/publish", nil).want(http.StatusOK, rev)
	if !rev.PublishedAt.Equal(published) {
		b.Error("published twice")
	}
}

// listsOwnStyleFirst checks that the shop's one style is listed before the
// built-in ones.
func (b *bench) listsOwnStyleFirst() {
	b.Helper()
	var list api.StyleList
	b.as(service.RoleShop, "GET", "/v1/styles", nil).want(http.StatusOK, &list)
	builtins, _ := style.Builtins()
	if len(list.Items) != len(builtins)+1 || list.Items[0].Slug != "tabard" || list.Items[0].Revision != 1 ||
		list.Items[1].Origin != api.StyleOriginBuiltIn {
		b.Errorf("styles: %+v", list.Items)
	}
	var detail api.StyleDetail
	b.get("/v1/styles/tabard").want(http.StatusOK, &detail)
	if detail.Revision != 1 || len(detail.Revisions) != 1 || detail.Origin != api.StyleOriginOwn {
		b.Errorf("style: %+v", detail)
	}
	b.get("/v1/styles/shift-dress").want(http.StatusOK, &detail)
	if detail.Origin != api.StyleOriginBuiltIn || detail.Description.Title == "" || len(detail.Revisions) != 0 {
		b.Errorf("built in: %+v", detail)
	}
	b.get("/v1/styles/nosuch").problem(http.StatusNotFound, api.ProblemCodeNotFound)
	b.get("/v1/styles/tabard/revisions/2").problem(http.StatusNotFound, api.ProblemCodeNotFound)
}

// Every hostile or broken script ends in one clear error with its line, and
// leaves nothing.
func TestScriptsRefused(t *testing.T) {
	t.Parallel()
	b := setup(t)
	head := `style(slug = "s", title = "S", block = "torso")` + "\n"
	made := "def make(body, ease, choose, block):\n    return None\n"
	for name, tt := range map[string]struct {
		script string
		line   int
		says   string
	}{
		"not a program": {"style(", 1, ""},
		"no head":       {"x = 1\n", 1, "no style"},
		"no make":       {head, 1, "make"},
		"endless loop": {head + made +
			"def f():\n    for a in range(1000000):\n        for b in range(1000000):\n            pass\nf()\n", 6, ""},
		"recursion":    {head + made + "def f(n):\n    return f(n + 1)\nf(0)\n", 5, ""},
		"a giant text": {head + made + "x = \"a\" * 100000000\n", 4, ""},
		"doubled without end": {head + made +
			"def f():\n    x = \"a\"\n    for i in range(100):\n        x = x + x\nf()\n", 7,
			""},
		"a giant list":      {head + made + "x = [0] * 1000000000\n", 4, ""},
		"a giant number":    {head + made + "x = 9 << 1000000\n", 4, ""},
		"deep brackets":     {head + made + "x = " + strings.Repeat("(", 5000) + strings.Repeat(")", 5000) + "\n", 4, ""},
		"a load":            {"load(\"os\", \"system\")\n" + head + made, 1, ""},
		"hidden characters": {"# x\n# \u202e evil\n" + head + made, 2, "an invisible character"},
		"a NUL":             {head + "# \u0000\n" + made, 2, "an invisible character"},
		"an unknown block":  {`style(slug = "s", title = "S", block = "cape")` + "\n" + made, 1, "cape"},
		"a built-in slug":   {strings.Replace(head, `"s"`, `"shift-dress"`, 1) + made, 1, "built-in"},
	} {
		r := b.as(service.RoleStaff, "POST", "/v1/styles", object{"script": tt.script})
		p := r.problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
		if len(p.Errors) != 1 || p.Errors[0].Pointer != "#/script" || p.Errors[0].Line != tt.line ||
			!strings.Contains(p.Errors[0].Detail+p.Errors[0].Value, tt.says) {
			t.Errorf("%s: %s", name, r.body)
		}
	}
	text := func(body, media string) reply {
		return b.do(call{method: "POST", path: "/v1/styles", key: b.keys[service.RoleStaff], body: body,
			header: map[string]string{"Content-Type": media}})
	}
	big := head + made + "# " + strings.Repeat("x", 128<<10)
	for _, body := range []any{object{"script": big}, object{"script": strings.Repeat(big, 3)}} {
		b.as(service.RoleStaff, "POST", "/v1/styles", body).problem(http.StatusRequestEntityTooLarge,
			api.ProblemCodeBodyTooLarge)
	}
	text(big, "text/plain").problem(http.StatusRequestEntityTooLarge, api.ProblemCodeBodyTooLarge)
	text(strings.Repeat(big, 3), "text/plain").problem(http.StatusRequestEntityTooLarge, api.ProblemCodeBodyTooLarge)
	text(head+"# \xff\xfe\n"+made, "text/plain").problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	text(head+made, "text/plain; charset=iso-8859-1").problem(http.StatusUnsupportedMediaType,
		api.ProblemCodeUnsupportedMediaType)
	text(head+made, "application/x-starlark").problem(http.StatusUnsupportedMediaType, api.ProblemCodeUnsupportedMediaType)
	p := text("style(", "text/plain").problem(http.StatusUnprocessableEntity, api.ProblemCodeInvalidInput)
	if p.Errors[0].Pointer != "#" || p.Errors[0].Line != 1 {
		t.Errorf("as text: %+v", p.Errors)
	}
	b.as(service.RoleShop, "POST", "/v1/styles", object{"script": tabard}).problem(http.StatusForbidden,
		api.ProblemCodeForbidden)
	var list api.StyleList
	b.get("/v1/styles").want(http.StatusOK, &list)
	if list.Items[0].Origin != api.StyleOriginBuiltIn {
		t.Errorf("a refused script was stored: %+v", list.Items[0])
	}
	// The server still drafts, and accepts a good script as text.
	b.ready("LL-1")
	text(tabard, "Text/Plain; charset=UTF-8").want(http.StatusCreated, nil)
}

// A script that fails only when it drafts is stored, as a draft whose warning
// names the line; strings that it makes can hold anything.
func TestScriptThatGoesWrongInDrafting(t *testing.T) {
	t.Parallel()
	b := setup(t)
	script := strings.Replace(tabard, `    return garment(`,
		"    for a in range(100000):\n        for b in range(100000):\n            pass\n    return garment(", 1)
	r := b.upload(script).Revision
	if i := slices.IndexFunc(r.Warnings, func(f api.StyleWarning) bool { return f.Rule == "not_drafted" }); i < 0 ||
		r.Warnings[i].Line < 15 || r.Warnings[i].Line > 20 {
		t.Errorf("findings: %+v", r.Warnings)
	}
	p := b.prove(r, mara)
	// A proof stops after ten drafts that exceed their budget.
	failed := p.Report.Counts.Failed
	if p.Status != api.ProofStatusDone || failed < 10 || failed > tabardVariants || len(p.Report.Failures) != 1 ||
		!strings.Contains(p.Report.Failures[0].Reason, "steps") {
		t.Errorf("proof: %+v", p.Report)
	}
	problem := b.post(revisionPath(r)+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	if !strings.Contains(problem.Detail, fmt.Sprintf("%d drafts", failed)) ||
		!strings.Contains(problem.Detail, "line 2") {
		t.Errorf("failed drafts: %s", problem.Detail)
	}
	nul := b.upload(strings.Replace(tabard, `    return garment(`,
		`    require(choose.drop < 0, "a \x00 b", about = ["drop"])`+"\n    return garment(", 1)).Revision
	if nul.Number != 2 {
		t.Errorf("%+v", nul)
	}
	refused := b.prove(nul, crowd(20))
	if refused.Status != api.ProofStatusDone || refused.Report.Counts.Refused != 20*tabardVariants {
		t.Errorf("proof: %+v", refused)
	}
	problem = b.post(revisionPath(nul)+"/publish", nil).problem(http.StatusConflict, api.ProblemCodeNotProved)
	if !strings.Contains(problem.Detail, "easy, trim") {
		t.Errorf("refused drafts: %s", problem.Detail)
	}
}

// A style whose drafts cannot be put on is published only by somebody who confirms
// their number.
func TestStyleWithFaults(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(strings.Replace(tabard, `    return garment(`,
		`    let_pass(["front/neckline", "back/neckline"], "head")`+"\n    return garment(", 1)).Revision
	counts := b.prove(r, crowd(20)).Report.Counts
	if counts.Faulty == 0 || counts.Failed > 0 || counts.Clean+counts.Faulty != counts.Drafted {
		t.Errorf("a neck too small for the head: %+v", counts)
	}
	path := revisionPath(r) + "/publish"
	p := b.post(path, nil).problem(http.StatusConflict, api.ProblemCodeFaultsUnconfirmed)
	if want := fmt.Sprintf("%d of %d drafts", counts.Faulty, counts.Drafted); !strings.Contains(p.Detail, want) ||
		!strings.Contains(p.Detail, "head through") {
		t.Errorf("detail %q, want %q and the fault", p.Detail, want)
	}
	confirm := func(n int) string { return fmt.Sprintf("%s?faulty=%d", path, n) }
	b.post(confirm(counts.Faulty-1), nil).problem(http.StatusConflict, api.ProblemCodeFaultsUnconfirmed)
	b.post(confirm(0), nil).problem(http.StatusBadRequest, api.ProblemCodeInvalidRequest)
	b.post(confirm(counts.Faulty), nil).want(http.StatusOK, &r)
	if r.Status != api.StyleStatusPublished {
		t.Errorf("confirmed: %+v", r)
	}
}

// A shop does not see another's styles and proofs.
func TestStylesAreApart(t *testing.T) {
	t.Parallel()
	b := setup(t)
	r := b.upload(tabard).Revision
	p := b.prove(r, mara)
	b.keys[service.RoleAdmin] = b.otherShop(service.RoleAdmin)
	for _, path := range []string{"/v1/styles/tabard", "/v1/styles/tabard/script?revision=1", revisionPath(r),
		revisionPath(r) + "/proofs", "/v1/style-proofs/" + p.ID.String()} {
		b.get(path).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	for _, path := range []string{revisionPath(r) + "/publish", revisionPath(r) + "/retire", "/v1/style-proofs/" +
		p.ID.String() + "/cancel"} {
		b.post(path, nil).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	}
	b.post(revisionPath(r)+"/proofs", object{"bodies": "panel"}).problem(http.StatusNotFound, api.ProblemCodeNotFound)
	// The other shop's style of that slug is its own.
	var made api.StyleRevisionDetail
	b.post("/v1/styles", object{"script": tabard}).want(http.StatusCreated, &made)
	if made.Revision.Number != 1 {
		t.Errorf("revision %d", made.Revision.Number)
	}
	b.get("/v1/style-proofs/"+uuid.NewString()).problem(http.StatusNotFound, api.ProblemCodeNotFound)
}

// Of two who write from the same revision, the second is told.
func TestUploadNamesItsBase(t *testing.T) {
	t.Parallel()
	b := setup(t)
	upload := func(base string, body any) reply {
		return b.as(service.RoleStaff, "POST", "/v1/styles?base_revision="+base, body)
	}
	body := object{"script": tabard}
	upload("0", body).want(http.StatusCreated, nil)
	p := upload("0", body).problem(http.StatusConflict, api.ProblemCodeWrongState)
	if !strings.Contains(p.Detail, "already") {
		t.Errorf("a style that is there: %q", p.Detail)
	}
	var second api.StyleRevisionDetail
	upload("1", body).want(http.StatusCreated, &second)
	p = upload("1", body).problem(http.StatusConflict, api.ProblemCodeWrongState)
	if second.Revision.Number != 2 || !strings.Contains(p.Detail, "revision 2") {
		t.Errorf("revision %d, then %q", second.Revision.Number, p.Detail)
	}
	b.do(call{method: "POST", path: "/v1/styles?base_revision=1", key: b.keys[service.RoleStaff], body: tabard,
		header: map[string]string{"Content-Type": "text/plain"}}).problem(http.StatusConflict, api.ProblemCodeWrongState)
}
