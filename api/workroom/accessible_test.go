package workroom_test

import (
	"encoding/json"
	"os"
	"sync"

	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// kinds lists the kinds of elements that axe-core has read, by width of the window.
var kinds = struct {
	sync.Mutex
	read map[string]bool
}{read: map[string]bool{}}

// kindsOnPage is a script that lists the kinds of elements on the page. Two elements
// are of one kind if they and those around them have the same tags and classes, and
// they have the same attributes. Values are compared only of attributes that say what
// an element is or its state. Headings also follow one of the same level. What a
// drawing is made of is left out.
const kindsOnPage = `(() => {
	const name = e => e.localName + (e.className?.baseVal === undefined ? "." + e.className : "");
	const up = e => e ? up(e.parentElement) + ">" + name(e) : "";
	const own = e => e.getAttributeNames().sort().map(a =>
		/^(role|type|open|disabled|hidden|lang)$/.test(a) || a.startsWith("aria-") && a.length < 14
			? a + "=" + e.getAttribute(a) : a).join(" ") + (e.textContent.trim() || e.value ? "" : " empty");
	let level = "";
	const kinds = [...document.querySelectorAll("*:not(svg *)")].map(e => {
		if (!/^h[1-6]$/.test(e.localName)) return up(e) + " " + own(e);
		const after = level;
		level = e.localName;
		return up(e) + " " + own(e) + " after " + after;
	});
	return [...new Set(kinds)].map(k => (innerWidth < 600) + k);
})()`

// newKinds reports whether the page has an element of a kind that axe-core has not read
// on an earlier page.
func (w *window) newKinds() bool {
	w.Helper()
	var found []string
	w.do(chromedp.Evaluate(kindsOnPage, &found))
	kinds.Lock()
	defer kinds.Unlock()
	fresh := os.Getenv("TAPELINE_WHOLE") != ""
	for _, k := range found {
		fresh = fresh || !kinds.read[k]
		kinds.read[k] = true
	}
	return fresh
}

// accessible fails the test for each violation of WCAG 2.2 AA that axe-core finds on
// the page. Since axe-core takes seconds for a page, a page without new kinds of
// elements is left out, unless TAPELINE_WHOLE is set.
func (w *window) accessible() {
	w.Helper()
	script, err := os.ReadFile("../../testdata/outside/node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("TAPELINE_READERS") == "required" {
			w.Fatal(err)
		}
		w.Log("axe-core is not installed")
		return
	}
	if !w.newKinds() {
		return
	}
	var found string
	w.do(chromedp.Evaluate(string(script)+";0", nil), chromedp.Evaluate(
		`axe.run(document, {resultTypes: ["violations"], preload: false, iframes: false,
				runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
			.then(r => JSON.stringify(r.violations.map(v => v.id + ": " + v.help + " " +
				v.nodes.map(n => n.html).join(" | "))))`,
		&found, func(p *runtime.EvaluateParams) *runtime.EvaluateParams { return p.WithAwaitPromise(true) }))
	var violations []string
	w.must(json.Unmarshal([]byte(found), &violations))
	for _, v := range violations {
		w.Errorf("axe: %s", v)
	}
}
