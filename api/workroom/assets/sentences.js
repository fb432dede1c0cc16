// The column of sentences on the page to write a style: a blank's form opens below its
// sentence, an edit is made by the server and shown with its picture, and what is picked in
// the picture lists what can be said of it. Without this file each press sends the form.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  if (!window.writing) return;
  const { form, edit, part, current, trouble } = window.writing;
  const dragPause = 80, guessPause = 150; // ms
  const say = (name, detail) => form.dispatchEvent(new CustomEvent(name, { detail }));
  const fieldsOf = (text) => [...new URLSearchParams(text)];
  const panel = () => document.getElementById("panel");
  const list = () => document.getElementById("sentences");

  // typed returns the fields of a panel as a form would send them.
  function typed(root) {
    return [...root.querySelectorAll("input[name], select[name], textarea[name]")]
      .filter((field) => !["radio", "checkbox"].includes(field.type) || field.checked).map((field) => [field.name, field.value]);
  }

  function furnish(root) {
    for (const close of root.querySelectorAll("[data-close]")) close.hidden = false;
  }

  function first(root) {
    const field = root.querySelector(".way:has(> .option > input:checked) .way-fields :is(input, select, textarea)")
      || root.querySelector("input:not([type=hidden], [type=radio]), select, textarea, button:not([data-close])");
    if (!field) return;
    field.focus();
    if (field.select) field.select();
  }

  // Opening and closing.
  let opener = ""; // the id of the button that opened the panel

  async function open(button) {
    const again = panel() && panel().dataset.place === button.value;
    const inside = button.closest("#panel"); // a blank that a sentence leaves out
    const id = inside ? opener : button.id;
    close();
    if (again) return;
    await current();
    button = inside ? button : document.getElementById(id);
    if (!button) return;
    const answer = await part("/workroom/try/open", undefined, [["open", button.value]]).catch(() => null);
    const next = answer && answer.page.getElementById("panel");
    if (!next) return refuse(answer);
    close();
    const node = document.importNode(next, true);
    document.getElementById(id)?.closest(".said").after(node);
    opener = id;
    mark(true);
    furnish(node);
    node.scrollIntoView({ block: "nearest" });
    first(node);
    if (node.dataset.start) say("blank", { start: Number(node.dataset.start), end: Number(node.dataset.end) });
  }

  function refuse(answer) {
    const said = answer && answer.page.querySelector("#refused, main section, main");
    trouble.replaceChildren(...(said ? said.childNodes : [document.createTextNode("The server cannot be reached. Nothing was changed.")]));
  }

  function mark(is) {
    const button = document.getElementById(opener);
    if (button) button.setAttribute("aria-expanded", String(is));
  }

  function close(focus) {
    if (!panel()) return;
    panel().remove();
    mark(false);
    say("blank", null);
    say("guess", null);
    if (focus) document.getElementById(opener)?.focus();
    opener = "";
  }

  function closeOffers() {
    offering += 1; // a list that is still to come stays away
    document.getElementById("offers").replaceChildren();
    say("guess", null);
    document.getElementById("add").focus();
  }

  // Edits.
  async function apply(fields, key) {
    const plain = typeof fields === "function" || Array.isArray(fields) || fields instanceof URLSearchParams;
    const refused = await edit(plain ? fields : Object.entries(fields), key);
    return !refused || refused;
  }

  async function press(button) {
    const root = button.closest("#panel, #adding");
    const own = fieldsOf(button.value), names = new Set(own.map(([name]) => name));
    const fields = [...typed(root).filter(([name]) => !names.has(name) && name !== "open"), ...own];
    const place = opener, key = own.find(([name]) => name === "act")[1] === "set_blank" ? place : "";
    root.querySelector("#refused")?.remove();
    const keep = button.closest(".choose") || root; // the fault stands beside its fields
    leaving = null;
    applying = true;
    const done = await apply(fields, key);
    applying = false;
    if (done !== true) {
      const node = document.importNode(done, true);
      node.id = "refused";
      if (keep === root) keep.prepend(node);
      else keep.querySelector("summary").after(node);
      first(keep);
      return;
    }
    say("guess", null);
    if (root.id === "adding") {
      closeOffers();
      return;
    }
    close();
    opener = "";
    say("blank", null);
    (document.getElementById(place) || list().querySelector("summary")).focus();
  }

  // The list is replaced: what is open in it moves to the new one.
  let leaving = null, applying = false;
  form.addEventListener("leaving", () => {
    const now = document.activeElement;
    leaving = { focus: now && list().contains(now) ? now : null, id: now ? now.id : "",
      panel: !applying || dragged ? panel() : null };
    if (leaving.focus && leaving.focus.selectionStart !== undefined) leaving.at = [leaving.focus.selectionStart, leaving.focus.selectionEnd];
  });
  form.addEventListener("listed", () => {
    const old = leaving;
    leaving = null;
    if (!old) return;
    const button = document.getElementById(opener);
    if (old.panel && button) {
      button.closest(".said").after(old.panel);
      move(old.panel, button);
      mark(true);
      if (old.panel.dataset.start) say("blank", { start: Number(old.panel.dataset.start), end: Number(old.panel.dataset.end) });
    }
    if (old.panel && !button) say("blank", null);
    const to = old.focus && old.focus.isConnected ? old.focus : old.id && document.getElementById(old.id);
    if (old.focus && to) {
      to.focus({ preventScroll: true });
      if (old.at && to === old.focus) try { to.setSelectionRange(...old.at); } catch { /* not a text */ }
    }
  });
  form.addEventListener("drawn", () => highlight());

  // move gives a panel the place that its blank now has in the script.
  function move(root, button) {
    if (!root.dataset.edit || !button.dataset.start) return;
    root.dataset.place = button.value;
    const at = [button.dataset.start, button.dataset.end];
    if (root.dataset.start) [root.dataset.start, root.dataset.end] = at;
    for (const act of root.querySelectorAll("button[name=edit]")) {
      const fields = new URLSearchParams(act.value);
      if (fields.get("act") === "set_argument") continue; // it has the place of the sentence
      fields.set("start", at[0]);
      fields.set("end", at[1]);
      act.value = fields.toString();
    }
  }

  // Offers: what was asked for last is shown.
  let offering = 0;
  async function offer(fields, focus) {
    const turn = ++offering;
    await current();
    const answer = await part("/workroom/try/offers", undefined, fields).catch(() => null);
    if (turn !== offering) return undefined;
    const next = answer && answer.page.getElementById("adding");
    if (!next) return refuse(answer);
    const node = document.importNode(next, true);
    document.getElementById("offers").replaceChildren(node);
    furnish(node);
    if (focus) {
      node.scrollIntoView({ block: "nearest" });
      first(node);
    }
    guess();
  }

  function filter(field) {
    const wanted = field.value.toLowerCase().split(/\s+/);
    for (const group of document.querySelectorAll("#adding .group")) {
      for (const row of group.querySelectorAll("li")) row.hidden = !wanted.every((word) => (row.textContent + row.querySelector("button").value).toLowerCase().includes(word));
      group.hidden = ![...group.querySelectorAll("li")].some((row) => !row.hidden);
    }
  }

  // What an edit that is not made yet would change is drawn in grey.
  let guessing = 0;
  function guess() {
    clearTimeout(guessing);
    guessing = setTimeout(() => {
      const root = document.querySelector("#adding:has(button[name=edit])") || panel();
      const button = root && root.querySelector("button.first[name=edit]");
      const empty = root && [...root.querySelectorAll(".way:has(> .option > input:checked) > .way-fields :is(input, textarea)")]
        .some((field) => !field.value && !field.name.endsWith("plus") && !field.name.endsWith("times"));
      if (!button || empty) return;
      const own = fieldsOf(button.value), names = new Set(own.map(([name]) => name));
      say("guess", new URLSearchParams([...typed(root).filter(([name]) => !names.has(name)), ...own]));
    }, guessPause);
  }

  // A drag fills in the blank that is open.
  let dragged = false, dragTimer = 0;
  form.addEventListener("dragged", (event) => {
    const root = panel();
    if (!root || !root.dataset.start) return;
    const inch = form.elements.unit.value === "inch";
    const field = root.querySelector("input[name='number.number']"), way = root.querySelector("input[value=number]");
    if (!field) return;
    way.checked = true;
    field.value = inch ? String(Math.round(event.detail.mm / 25.4 * 1000) / 1000) : String(Math.round(event.detail.mm) / 10);
    clearTimeout(dragTimer);
    dragTimer = setTimeout(() => {
      dragged = true;
      apply(() => {
        const now = panel(), button = now && now.querySelector("button.first[name=edit]");
        return button && [...typed(now).filter(([name]) => name.startsWith("number.") || name === "form"), ...fieldsOf(button.value)];
      }, opener).then((done) => {
        dragged = false;
        panel()?.querySelector("#refused")?.remove();
        if (done !== true && panel()) panel().prepend(document.importNode(done, true));
      });
    }, dragPause);
  });

  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.name === "open") {
      event.preventDefault();
      open(button);
    } else if (button.name === "edit") {
      event.preventDefault();
      press(button);
    } else if (button.name === "offer") {
      event.preventDefault();
      offer(fieldsOf(button.value), true);
    } else if (button.matches("#panel [data-close]")) {
      close(true);
    } else if (button.matches("#adding [data-close]")) {
      closeOffers();
    }
  });
  form.addEventListener("keydown", (event) => {
    const root = event.target.closest("#panel, #adding");
    if (event.key === "Escape" && root) {
      event.preventDefault();
      if (root.id === "panel") close(true);
      else closeOffers();
    } else if (event.key === "Enter" && root && event.target.matches("select")) {
      event.preventDefault();
      enter(event.target);
    }
  });
  // Enter in a field sends the form by its first button; in a panel it applies the panel.
  form.addEventListener("submit", (event) => {
    const field = document.activeElement;
    if (event.submitter && !event.submitter.matches("[aria-hidden]") || !field.closest("#panel, #adding")) return;
    event.preventDefault();
    enter(field);
  }, true);

  function enter(field) {
    const root = field.closest("#panel, #adding"), choose = field.closest(".choose");
    if (field.id === "filter") root.querySelector("li:not([hidden]) button")?.click();
    else press((choose || root).querySelector(choose ? "button[name=edit]" : "button.first[name=edit]"));
  }

  form.addEventListener("input", (event) => {
    if (event.target.id === "filter") filter(event.target);
    else if (event.target.closest("#panel, #adding")) {
      const way = event.target.closest(".way");
      if (way && event.target.closest(".way-fields")) way.querySelector("input[type=radio]").checked = true;
      guess();
    }
  });

  // Sentences and picture point at each other.
  let saying = null;
  function over(event) {
    const item = event.target.closest && event.target.closest("#sentences li");
    if (item === saying) return;
    saying = item;
    say("said", item ? { from: Number(item.dataset.from), to: Number(item.dataset.to) } : null);
  }
  for (const name of ["pointerover", "focusin"]) form.addEventListener(name, over);
  form.addEventListener("pointerleave", over);

  // A pick is told again after each picture. A sentence about it that is being filled in
  // stays.
  let picked = null;
  form.addEventListener("picked", (event) => {
    const again = picked && event.detail && ["kind", "piece", "name"].every((key) => picked[key] === event.detail[key]);
    picked = event.detail;
    highlight(true);
    if (again && document.querySelector("#adding fieldset")) return;
    if (!picked) document.getElementById("offers").replaceChildren();
    else offer([["offer", "all"], ["pick_kind", picked.kind], ["pick_piece", picked.piece], ["pick_name", picked.name || ""]], false);
  });

  // highlight marks the sentences that made or last changed what is picked.
  function highlight(scroll) {
    for (const item of list().querySelectorAll(".is-picked")) item.classList.remove("is-picked");
    if (!picked) return;
    const parts = document.getElementById("pick-parts");
    const facts = parts && [...parts.content.children].find((o) => o.dataset.piece === picked.piece && o.value === `${picked.kind}/${picked.name}`);
    if (!facts) return;
    const items = facts.dataset.lines.split(" ").map(Number).filter(Boolean).map(sentenceAt).filter(Boolean);
    for (const item of items) item.classList.add("is-picked");
    if (scroll && items.length) items[items.length - 1].scrollIntoView({ block: "nearest" });
  }

  // sentenceAt returns the innermost sentence of a line, in a section that is open.
  function sentenceAt(line) {
    const found = [...list().querySelectorAll("li")].filter((item) => Number(item.dataset.from) <= line && line <= Number(item.dataset.to));
    return found.filter((item) => Number(item.dataset.from) === line).at(-1) || found.at(-1) || null;
  }

  function goTo(line) {
    const item = sentenceAt(line);
    if (!item) return false;
    item.closest("details").open = true;
    item.scrollIntoView({ block: "center" });
    (item.querySelector("button") || item.closest("details").querySelector("summary")).focus({ preventScroll: true });
    return true;
  }

  if (panel()) opener = [...list().querySelectorAll("button[name=open]")].find((b) => b.value === panel().dataset.place)?.id || "";
  furnish(form);
  window.sentences = { apply, goTo };
});
