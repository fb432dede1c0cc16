package workroom_test

import (
	"fmt"
	"slices"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"tapeline/service"
)

// BenchmarkWriting measures, in a browser, the time from the end of a pause in typing
// until the changed picture is painted, and from a press of a button until another
// body or another set of choices is. An iteration is one edit and two presses. It
// reports the median and the ninth of ten, ms.
func BenchmarkWriting(b *testing.B) {
	s := newSite(b)
	w := s.open().signIn(service.RoleStaff)
	for _, slug := range []string{"shift-dress", "princess-dress", "button-shirt"} {
		b.Run(slug, func(b *testing.B) {
			w.visit("/workroom/new-style/write?from=" + slug)
			w.until(`document.getElementById("writing").dataset.drafts >= 1`)
			times := map[string][]float64{}
			for i := 0; b.Loop(); i++ {
				times["edit"] = append(times["edit"], w.took(fmt.Sprintf(`(() => {
					const view = window.CodeMirror.EditorView.findFromDOM(document.querySelector(".cm-editor"));
					const at = view.state.doc.toString().search(/"hem": \d/);
					view.dispatch({changes: {from: at + 7, to: at + 9, insert: "%d"}}); })()`, 20+i%10)))
				times["body"] = append(times["body"], w.took(next("body")))
				times["choices"] = append(times["choices"], w.took(next("variant")))
			}
			b.ReportMetric(0, "ns/op")
			for name, list := range times {
				slices.Sort(list)
				b.ReportMetric(list[len(list)/2], name+"-p50-ms")
				b.ReportMetric(list[len(list)*9/10], name+"-p90-ms")
			}
		})
	}
}

// next is the script that presses the button to the next body or choices.
func next(step string) string {
	return fmt.Sprintf(`document.querySelector('[data-step=%s][data-by="1"]').click()`, step)
}

// took runs a script that makes the page draft, and returns the time that the page
// measured until it had painted the picture, ms.
func (w *window) took(script string) float64 {
	w.Helper()
	var before int
	count := `Number(document.getElementById("writing").dataset.drafts)`
	w.do(chromedp.Evaluate(count, &before), chromedp.Evaluate(script, nil))
	w.until(fmt.Sprintf("%s > %d", count, before))
	var took string
	w.do(chromedp.Evaluate(`document.getElementById("writing").dataset.took`, &took))
	v, err := strconv.ParseFloat(took, 64)
	w.must(err)
	return v
}

// BenchmarkSentence measures, in a browser, the time from the press that fills in a blank
// until the changed picture is painted, and until the six bodies beside it are. An
// iteration is one act. It reports the median and 99 of a hundred, ms.
func BenchmarkSentence(b *testing.B) {
	s := newSite(b)
	w := s.open().signIn(service.RoleStaff)
	for _, slug := range []string{"shift-dress", "princess-dress", "button-shirt"} {
		b.Run(slug, func(b *testing.B) {
			w.visit("/workroom/new-style/write?from=" + slug)
			w.until(`document.getElementById("writing").dataset.sizes >= 1`)
			var acts, sizes []float64
			for i := 0; b.Loop(); i++ {
				w.do(chromedp.Evaluate(`document.getElementById([...document.querySelectorAll("#section-make .blank[data-length]")]
					.find((blank) => /^[\d.]+ cm$/.test(blank.innerText)).id).click()`, nil))
				w.until(`document.querySelector("#panel [name='number.number']")`)
				acts = append(acts, w.took(fmt.Sprintf(`(() => {
					const field = document.querySelector("#panel [name='number.number']");
					field.value = String(Number(field.defaultValue) + %v);
					document.querySelector("#panel .first[name=edit]").click(); })()`, []float64{0.1, -0.1}[i%2])))
				sizes = append(sizes, w.reads("sizesTook", fmt.Sprintf("%d", i+2)))
			}
			b.ReportMetric(0, "ns/op")
			for name, list := range map[string][]float64{"picture": acts, "bodies": sizes} {
				slices.Sort(list)
				b.ReportMetric(list[len(list)/2], name+"-p50-ms")
				b.ReportMetric(list[len(list)*99/100], name+"-p99-ms")
			}
		})
	}
}

// reads returns a number that the page notes once it has shown the bodies the given times.
func (w *window) reads(name, times string) float64 {
	w.Helper()
	w.until(`Number(document.getElementById("writing").dataset.sizes) >= ` + times)
	var text string
	w.do(chromedp.Evaluate(`document.getElementById("writing").dataset.`+name, &text))
	v, err := strconv.ParseFloat(text, 64)
	w.must(err)
	return v
}

// BenchmarkFirstPage measures, in a browser that has nothing of it yet, how long the
// orders take until they can be used, ms, and how much is loaded for them, kB.
func BenchmarkFirstPage(b *testing.B) {
	s := newSite(b)
	for i := range 20 {
		s.place(fmt.Sprintf("THR-%d", i), "Mara Vell", nil)
	}
	w := s.open().signIn(service.RoleStaff)
	w.do(network.SetCacheDisabled(true))
	var times []float64
	var loaded float64
	for b.Loop() {
		w.visit("/workroom/orders")
		w.until(`performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd > 0`)
		var ready float64
		w.do(chromedp.Evaluate(`performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd`, &ready),
			chromedp.Evaluate(`[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
				.reduce((sum, entry) => sum + entry.transferSize, 0) / 1000`, &loaded))
		times = append(times, ready)
	}
	slices.Sort(times)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(times[len(times)/2], "p50-ms")
	b.ReportMetric(times[len(times)*9/10], "p90-ms")
	b.ReportMetric(loaded, "kB")
}
