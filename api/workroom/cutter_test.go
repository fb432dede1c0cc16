package workroom_test

import (
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// cutter works on the page to write a style as a person does: with the pointer and keys,
// or with keys alone. It sends no events of the page itself.
type cutter struct {
	*window
	keys bool // no pointer
}

// entry fills in a blank of a sentence: the texts of its fields by name.
type entry struct {
	param, name, form string
	fields            [][2]string
}

func numberIn(param, name, number string) entry {
	return entry{param, name, "number", [][2]string{{"number", number}}}
}

func wordIn(param, name, word string) entry {
	return entry{param, name, "word", [][2]string{{"word", word}}}
}

func yesIn(param string) entry { return entry{param, "", "yesno", [][2]string{{"word", "yes"}}} }

func linesIn(param string, lines ...string) entry {
	return entry{param, "", "words", [][2]string{{"word", strings.Join(lines, "\n")}}}
}

func measureIn(param, times, measure, plus string) entry {
	return entry{param, "", "measurement", [][2]string{{"times", times}, {"word", measure}, {"plus", plus}}}
}

func edgeIn(param, edge, plus string) entry {
	return entry{param, "", "edge_length", [][2]string{{"word", edge}, {"plus", plus}}}
}

// one is the expression of the first element of a selector that a condition holds for; x
// is the element.
func one(selector, condition string) string {
	return fmt.Sprintf(`[...document.querySelectorAll(%q)].find((x) => %s)`, selector, condition)
}

func sole(selector string) string { return one(selector, "true") }

func saying(selector, text string) string {
	return one(selector, fmt.Sprintf(`x.innerText.replace(/\s+/g, " ").trim() == %q`, text))
}

// key presses a key once.
func (c *cutter) key(key string, modifiers ...input.Modifier) {
	c.Helper()
	c.do(chromedp.KeyEvent(key, chromedp.KeyModifiers(modifiers...)))
}

// tabTo moves the focus to an element by the Tab key.
func (c *cutter) tabTo(element string) {
	c.Helper()
	c.until("!!" + element)
	where := fmt.Sprintf(`(() => { const to = %s, at = document.activeElement;
		return !to ? "gone" : at === to ? "" : to.type == "radio" && at.name == to.name && at.type == "radio" ? "" :
			at.compareDocumentPosition(to) & Node.DOCUMENT_POSITION_PRECEDING ? "back" : "on"; })()`, element)
	for range 900 {
		var way string
		c.do(chromedp.Evaluate(where, &way))
		switch way {
		case "":
			return
		case "back":
			c.key(kb.Tab, input.ModifierShift)
		case "on":
			c.key(kb.Tab)
		default:
			time.Sleep(50 * time.Millisecond)
		}
	}
	c.fail(fmt.Errorf("the Tab key does not reach %s", element))
}

// reach puts the focus on an element.
func (c *cutter) reach(element string) {
	c.Helper()
	if c.keys {
		c.tabTo(element)
		return
	}
	c.until("!!" + element)
	for range 50 {
		var at []float64
		c.do(chromedp.Evaluate(fmt.Sprintf(`(() => { const x = %s;
			if (!x) return [];
			x.scrollIntoView({ block: "center" });
			const box = x.getBoundingClientRect();
			const at = [box.x + Math.min(box.width / 2, 40), box.y + Math.min(box.height / 2, 12)];
			return x.contains(document.elementFromPoint(...at)) ? at : []; })()`, element), &at))
		if len(at) == 2 {
			c.click(at[0], at[1])
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	c.fail(fmt.Errorf("something covers %s", element))
}

// presses presses a button.
func (c *cutter) presses(element string) {
	c.Helper()
	c.reach(element)
	if c.keys {
		c.key(kb.Enter)
	}
}

// enters enters a text in a field, or chooses the option of a list that has this value.
func (c *cutter) enters(field, text string) {
	c.Helper()
	c.until("!!" + field)
	var list bool
	c.do(chromedp.Evaluate(field+`.matches("select")`, &list))
	if list {
		c.tabTo(field) // a press would open the list in a window of its own
		c.arrows(field, text)
		return
	}
	c.reach(field)
	c.key("a", input.ModifierCtrl)
	c.key(kb.Delete)
	for i, line := range strings.Split(text, "\n") {
		if i > 0 {
			c.key(kb.Enter)
		}
		if line != "" {
			c.key(line)
		}
	}
	c.until(fmt.Sprintf(`%s.value == %q`, field, text))
}

// arrows chooses an option of the list that has the focus.
func (c *cutter) arrows(list, value string) {
	c.Helper()
	off := fmt.Sprintf(`(() => { const x = %s;
		return [...x.options].findIndex((o) => o.value == %q) - x.selectedIndex; })()`, list, value)
	c.until(fmt.Sprintf(`[...%s.options].some((o) => o.value == %q)`, list, value))
	for range 200 {
		var by int
		c.do(chromedp.Evaluate(off, &by))
		switch {
		case by == 0:
			return
		case by < 0:
			c.key(kb.ArrowUp)
		default:
			c.key(kb.ArrowDown)
		}
	}
	c.fail(fmt.Errorf("the arrow keys do not choose %s", value))
}

// radio chooses one of several radio buttons.
func (c *cutter) radio(button string) {
	c.Helper()
	c.reach(button)
	for range 40 {
		var is bool
		c.do(chromedp.Evaluate(button+".checked", &is))
		if is {
			return
		}
		if c.keys {
			c.key(kb.ArrowDown)
		} else {
			time.Sleep(20 * time.Millisecond)
		}
	}
	c.fail(fmt.Errorf("not chosen: %s", button))
}

// begins begins a style with a block, on the page that offers them.
func (c *cutter) begins(block, title string) {
	c.Helper()
	c.visit("/workroom/new-style")
	c.enters(sole("input[name=title]"), title)
	c.radio(one("input[name=from]", fmt.Sprintf(`x.value == "block:%s"`, block)))
	c.presses(saying("form.starting button", "Begin"))
	c.until(`document.getElementById("writing")?.dataset.drafts >= 1`)
}

// blankOf opens the blank that says a text, in the sentence that has another.
func (c *cutter) blankOf(sentence, says string) {
	c.Helper()
	c.presses(fmt.Sprintf(`document.querySelector(%q)`, c.blank(says, sentence)))
	c.until(`!!document.getElementById("panel")`)
}

// blankLeftOut opens a blank that a sentence leaves out.
func (c *cutter) blankLeftOut(sentence, blank string) {
	c.Helper()
	c.blankOf(sentence, "more")
	c.presses(saying("#panel button[name=open]", blank))
	_, entry, inTable := strings.Cut(blank, ": ")
	if !inTable {
		entry = blank
	}
	c.until(fmt.Sprintf(`document.getElementById("panel")?.getAttribute("aria-label") == %q`, entry))
}

// fillsIn fills in the open blank, and applies it.
func (c *cutter) fillsIn(e entry) {
	c.Helper()
	if e.name != "" {
		c.enters(sole(`#panel [name="name"]`), e.name)
	}
	c.way("#panel", "", e)
	c.applies("#panel")
}

// applies applies the open form, and waits for the picture.
func (c *cutter) applies(form string) {
	c.Helper()
	var before string
	drafts := `document.getElementById("writing").dataset.drafts`
	c.do(chromedp.Evaluate(drafts, &before))
	c.presses(sole(form + " button.first[name=edit]"))
	c.until(fmt.Sprintf(`%s != %q && !document.querySelector("%s")`, drafts, before, form))
}

// way enters the fields of one way to fill in a blank.
func (c *cutter) way(form, prefix string, e entry) {
	c.Helper()
	button := sole(fmt.Sprintf(`%s input[type=radio][name="%sform"][value="%s"]`, form, prefix, e.form))
	c.until("!!" + button)
	c.radio(button)
	for _, f := range e.fields {
		c.enters(sole(fmt.Sprintf(`%s [name="%s%s.%s"]`, form, prefix, e.form, f[0])), f[1])
	}
}

// picks picks a part of a piece, by the pointer where it lies free in the picture, or in the
// lists.
func (c *cutter) picks(piece, kind, name string) {
	c.Helper()
	if c.keys {
		c.enters(sole("#pick-piece"), piece)
		c.enters(sole("#pick-part"), kind+"/"+name)
	} else {
		shape := fmt.Sprintf(`.picks [data-piece="%s"] [data-kind="%s"][data-name="%s"]`, piece, kind, name)
		c.until("!!" + sole(shape))
		var at []float64
		c.do(chromedp.Evaluate(fmt.Sprintf(`(() => { const shape = %s;
			shape.closest("[data-drawn]").scrollIntoView({ block: "center" });
			for (let i = 1; i < 40; i += 1) {
				const share = 0.5 + (i %% 2 ? 1 : -1) * Math.floor(i / 2) / 42;
				const on = shape.getPointAtLength(shape.getTotalLength() * share).matrixTransform(shape.getScreenCTM());
				const there = document.elementsFromPoint(on.x, on.y);
				if (there.find((x) => x.dataset.kind) === shape && there[0].closest("svg")) return [on.x, on.y];
			}
			return []; })()`, sole(shape)), &at))
		if len(at) != 2 {
			c.fail(fmt.Errorf("nowhere to pick %s %s", piece, name))
		}
		c.click(at[0], at[1])
	}
	c.until(fmt.Sprintf(`document.getElementById("pick-piece").value == %q &&
		document.getElementById("pick-part").value == "%s/%s"`, piece, kind, name))
}

// adds picks an edge and adds a sentence that can be said of it.
func (c *cutter) adds(piece, edge, verb string, entries ...entry) {
	c.Helper()
	c.picks(piece, "edge", edge)
	c.offer(fmt.Sprintf(`f.get("pick_name") == %q && f.get("pick_piece") == %q`, edge, piece), verb, entries)
}

// addsTo adds a sentence that can be said of a piece.
func (c *cutter) addsTo(piece, verb string, entries ...entry) {
	c.Helper()
	c.picks(piece, "piece", "")
	c.offer(fmt.Sprintf(`f.get("pick_kind") == "piece" && f.get("pick_piece") == %q`, piece), verb, entries)
}

// addsAny adds one of all sentences.
func (c *cutter) addsAny(verb string, entries ...entry) {
	c.Helper()
	c.presses(sole("#add"))
	c.offer(`!f.get("pick_kind")`, verb, entries)
}

// offer opens a sentence of the list, fills in its blanks and adds it.
func (c *cutter) offer(of, verb string, entries []entry) {
	c.Helper()
	c.presses(one("#offers .offers button", fmt.Sprintf(
		`((f) => f.get("verb") == %q && %s)(new URLSearchParams(x.value))`, verb, of)))
	c.until(`!!document.querySelector("#adding button.first[name=edit]")`)
	for _, e := range entries {
		fieldset := fmt.Sprintf(`[...document.querySelectorAll("#adding fieldset")].find((f) =>
			f.querySelector("input[type=hidden]").value == %q && (%q == "" || f.querySelector("[name$='.name']").value == %q))`,
			e.param, e.name, e.name)
		c.until("!!" + fieldset)
		var param string
		c.do(chromedp.Evaluate(fieldset+`.querySelector("input[type=hidden]").name`, &param))
		c.way("#adding", strings.TrimSuffix(param, "param"), e)
	}
	c.applies("#adding")
}

// letsChoose lets the customer choose the number in the open blank.
func (c *cutter) letsChoose(name, help, least, most string) {
	c.Helper()
	c.presses(sole("#panel .choose > summary"))
	for _, f := range [][2]string{{"name", name}, {"help", help}, {"min", least}, {"max", most}} {
		c.enters(sole("#panel .choose [name="+f[0]+"]"), f[1])
	}
	var before string
	drafts := `document.getElementById("writing").dataset.drafts`
	c.do(chromedp.Evaluate(drafts, &before))
	c.presses(sole("#panel .choose button[name=edit]"))
	c.until(fmt.Sprintf(`%s != %q && !document.getElementById("panel")`, drafts, before))
}

// sewing writes the sewing order, one step a line.
func (c *cutter) sewing(steps ...string) {
	c.Helper()
	c.presses(`[...document.querySelectorAll("#sentences li")].find((l) =>
		l.innerText.startsWith("Let sewing be"))?.querySelector(".blank")`)
	c.until(`!!document.getElementById("panel")`)
	c.fillsIn(linesIn("", steps...))
}
