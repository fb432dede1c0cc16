// The place to write a style: an editor over the form's text, which the server
// drafts after a pause in typing. Verbs are completed and explained from their own
// texts. Without this file the form still shows and saves.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const form = document.getElementById("writing");
  if (!form || !window.CodeMirror) return;
  const pause = 150; // ms without a key before the script is drafted
  const area = form.elements.script;
  const { EditorView, basicSetup, python, autocompletion, hoverTooltip, setDiagnostics } = window.CodeMirror;
  let words = { verbs: [], measures: [] };
  const saved = form.dataset.unsaved ? null : area.value;
  let unsaved = saved === null;
  fetch(form.dataset.words).then((answer) => answer.json()).then((found) => { words = found; });

  const editor = new EditorView({
    doc: area.value,
    parent: document.getElementById("editor"),
    extensions: [
      EditorView.cspNonce.of(form.dataset.nonce), basicSetup, EditorView.lineWrapping, python(),
      EditorView.contentAttributes.of({ "aria-label": "The script", tabindex: "0" }),
      autocompletion({ override: [complete] }), hoverTooltip(explain),
      EditorView.updateListener.of((update) => {
        if (!update.docChanged) return;
        if (putting) return;
        area.value = update.state.doc.toString();
        unsaved = true;
        later(pause);
      }),
    ],
  });
  document.getElementById("plain").hidden = true;
  document.getElementById("show").hidden = true;
  document.getElementById("keys").hidden = false;
  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    const size = new Blob([area.value]).size;
    if (size > Number(form.dataset.most)) { // the server would not read it, and the page would be gone
      event.preventDefault();
      document.getElementById("trouble").textContent = `The script has ${size} bytes; at most ${form.dataset.most} are saved.`;
      return;
    }
    unsaved = false;
  });
  window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });

  // Completion: verbs anywhere, measurements after "body.", the script's choices after
  // "choose.", pieces after "block.", and pieces and edges inside quotes.
  function complete(context) {
    const line = context.state.doc.lineAt(context.pos);
    const before = line.text.slice(0, context.pos - line.from);
    const drafted = document.getElementById("tried").dataset.names.split(" ").filter(Boolean);
    const plain = (names, type) => names.map((label) => ({ label, type }));
    let found = /(["'])([\w/]*)$/.exec(before);
    if (found && (before.split(found[1]).length - 1) % 2 === 1) {
      return { from: context.pos - found[2].length, options: plain(drafted, "constant"), validFor: /^[\w/]*$/ };
    }
    found = /\b(body|choose|block)\.(\w*)$/.exec(before);
    if (found) {
      const options = {
        body: () => words.measures.map((w) => ({ label: w.name, type: "property", info: w.doc })),
        choose: () => plain([...new Set([...context.state.doc.toString().matchAll(/\bchoice\(\s*"(\w+)"/g)].map((m) => m[1]))], "property"),
        block: () => plain(drafted.filter((name) => !name.includes("/")), "property"),
      };
      return { from: context.pos - found[2].length, options: options[found[1]](), validFor: /^\w*$/ };
    }
    found = /(?<![\w.])\w+$/.exec(before);
    if (!found && !context.explicit) return null;
    const options = words.verbs.map((w) => ({ label: w.name, type: "function", detail: w.group, info: w.use + "\n\n" + w.doc }));
    return { from: context.pos - (found ? found[0].length : 0), options, validFor: /^\w*$/ };
  }

  function explain(view, pos) {
    const line = view.state.doc.lineAt(pos);
    for (const match of line.text.matchAll(/(body\.)?(\w+)/g)) {
      const from = line.from + match.index;
      if (pos < from || pos > from + match[0].length) continue;
      const word = (match[1] ? words.measures : words.verbs).find((w) => w.name === match[2]);
      if (word) return { pos: from, end: from + match[0].length, above: true, create: () => ({ dom: help(word) }) };
    }
    return null;
  }

  function help(word) {
    const dom = document.createElement("div");
    dom.className = "help";
    const use = document.createElement("code");
    use.textContent = word.use;
    const text = document.createElement("p");
    text.textContent = word.doc;
    const sentence = document.createElement("p");
    sentence.textContent = word.sentence || "";
    dom.append(use, sentence, text);
    return dom;
  }

  // Drafting: one request at a time, the latest wins; edits wait for each other.
  let timer = 0, asked = null, edits = Promise.resolve(), editing = 0;
  const trouble = document.getElementById("trouble");
  const lost = "The server cannot be reached. Your script is not lost: go on, and it is drafted when the server answers.";

  function later(wait) {
    clearTimeout(timer);
    timer = setTimeout(() => draft(), wait);
  }

  // data are the fields of the form, with others in their place.
  function data(fields) {
    const all = new URLSearchParams(new FormData(form));
    for (const name of new Set([...(fields || [])].map(([key]) => key))) all.delete(name);
    for (const [name, value] of fields || []) all.append(name, value);
    return all;
  }

  async function part(address, signal, fields) {
    const answer = await fetch(address, { method: "POST", body: data(fields), headers: { "HX-Request": "true" }, signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return { ok: answer.ok, status: answer.status, page };
  }

  // told shows what is wrong with a request, and reports whether nothing is.
  function told(answer) {
    const said = answer.ok ? null : answer.page.querySelector("#refused, main section, main");
    trouble.replaceChildren(...(said ? said.childNodes : []));
    return answer.ok;
  }

  async function draft(only) {
    clearTimeout(timer);
    if (editing) return edits.then(() => draft(only));
    if (asked) asked.abort();
    asked = new AbortController();
    const { signal } = asked;
    const begun = performance.now(), sent = area.value;
    try {
      const answer = await part("/workroom/try/sentences", signal);
      if (answer.status === 429) return later(1000);
      if (!told(answer)) return undefined;
      listed = sent;
      remember("typing");
      show(answer.page, begun);
      if (only === true) sizes(signal).catch(() => {});
      else await sizes(signal);
    } catch (error) {
      if (error.name !== "AbortError") trouble.textContent = lost;
    }
    return undefined;
  }

  async function sizes(signal) {
    const answer = await part("/workroom/try/sizes", signal);
    if (!answer.ok) return;
    document.getElementById("sizes").replaceWith(document.importNode(answer.page.getElementById("sizes"), true));
    form.dataset.sizes = String(Number(form.dataset.sizes || 0) + 1);
    form.dataset.sizesTook = String(Math.round(performance.now() - begunLast));
  }
  let begunLast = 0;

  // current waits until the sentences are those of the script.
  let listed = area.value;
  async function current() {
    await edits;
    if (area.value !== listed) await draft(true);
  }

  // refusal says beside the fields of an edit why it was not made.
  function refusal(text) {
    const node = document.createElement("div"), line = document.createElement("p");
    node.id = "refused";
    node.setAttribute("role", "alert");
    line.className = "wrong";
    line.textContent = text;
    node.append(line);
    return node;
  }

  // edit changes the script by a sentence. fields are those of the edit, or a function that
  // returns them when the edits before it are made. The result says why it was refused, null
  // if it was made.
  function edit(fields, key) {
    editing += 1;
    edits = edits.then(async () => {
      clearTimeout(timer);
      if (asked) asked.abort();
      asked = new AbortController();
      const { signal } = asked;
      const begun = performance.now(), before = area.value;
      try {
        if (area.value !== listed) { // somebody types in the script: its places are others
          later(0);
          return refusal("The script was just changed. Make this change again.");
        }
        const now = typeof fields === "function" ? fields() : fields;
        if (!now) return null;
        let answer = await part("/workroom/try/sentences", undefined, now);
        for (let wait = 250; answer.status === 429 && wait < 9000; wait *= 2) { // the server is busy: the edit is not lost
          await new Promise((again) => setTimeout(again, wait));
          answer = await part("/workroom/try/sentences", undefined, now);
        }
        if (answer.status === 422) return answer.page.getElementById("refused");
        if (!told(answer)) return refusal("Nothing was changed.");
        if (area.value !== before) { // somebody typed in the script meanwhile
          return refusal("The script was changed meanwhile, and this change was not made. Make it again.");
        }
        put(answer.page.getElementById("answered").value);
        listed = area.value;
        remember(key);
        show(answer.page, begun);
        sizes(signal).catch(() => {});
      } catch {
        trouble.textContent = lost;
        return refusal("Nothing was changed.");
      } finally {
        editing -= 1;
      }
      return null;
    });
    return edits;
  }

  // put replaces the script, and changes in the editor only what differs.
  let putting = false;
  function put(text) {
    const before = editor.state.doc.toString();
    let from = 0, end = 0;
    const most = Math.min(before.length, text.length);
    while (from < most && before[from] === text[from]) from += 1;
    while (end < most - from && before[before.length - 1 - end] === text[text.length - 1 - end]) end += 1;
    putting = true;
    editor.dispatch({ changes: { from, to: before.length - end, insert: text.slice(from, text.length - end) } });
    putting = false;
    area.value = text;
  }

  // The scripts that there were, for undo and redo. Changes of one number that follow each
  // other closely are one.
  const together = 1500, most = 500;
  const history = [{ script: area.value, key: "", when: 0 }];
  let now = 0;

  function remember(key) {
    const last = history[now];
    if (last.script === area.value) return;
    history.length = now + 1;
    if (key && key === last.key && Date.now() - last.when < together) history[now] = { ...last, script: area.value, when: Date.now() };
    else history.push({ script: area.value, key, when: Date.now() });
    if (history.length > most) history.shift();
    now = history.length - 1;
    changed();
  }

  function step(by) {
    if (!history[now + by]) return;
    if (area.value !== history[now].script) remember("");
    now += by;
    put(history[now].script);
    changed();
    draft();
  }

  const undo = document.getElementById("undo"), redo = document.getElementById("redo");
  function changed() {
    undo.disabled = now === 0;
    redo.disabled = now === history.length - 1;
    unsaved = area.value !== saved;
  }
  undo.hidden = redo.hidden = false;
  undo.addEventListener("click", () => step(-1));
  redo.addEventListener("click", () => step(1));
  document.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || event.altKey || key !== "z" && key !== "y") return;
    if (event.target.closest("textarea, select, [contenteditable], input:not([type=radio], [type=checkbox])")) return;
    event.preventDefault();
    step(key === "y" || event.shiftKey ? 1 : -1);
  });

  // Sentences or script: both are in the page, one is shown.
  function as(which) {
    form.classList.toggle("as-script", which === "script");
    form.classList.toggle("as-sentences", which !== "script");
    form.querySelector("input[name=as]").value = which;
    for (const tab of form.querySelectorAll(".tab")) {
      if (tab.value === which) tab.setAttribute("aria-current", "true");
      else tab.removeAttribute("aria-current");
    }
    address();
    editor.requestMeasure();
  }

  // The address keeps what is shown.
  function address() {
    const query = new URLSearchParams(location.search);
    for (const name of ["as", "unit", "body", "variant"]) {
      const field = form.querySelector(`:is(input, select)[name=${name}]`);
      if (field) query.set(name, field.value);
    }
    window.history.replaceState(null, "", `?${query}${location.hash}`);
  }

  // show puts an answer in the page. What cannot be drafted leaves the last picture and the
  // choice of bodies in place, what cannot be read the last sentences.
  function show(page, begun) {
    begunLast = begun;
    column(page.getElementById("sentences"));
    tried(page.getElementById("tried"));
    address();
    form.dispatchEvent(new CustomEvent("drawn"));
    requestAnimationFrame(() => setTimeout(() => { // painted
      form.dataset.took = String(Math.round(performance.now() - begun));
      form.dataset.drafts = String(Number(form.dataset.drafts || 0) + 1);
    }));
  }

  function column(next) {
    const old = document.getElementById("sentences");
    form.dispatchEvent(new CustomEvent("leaving", { detail: next }));
    if (next.querySelector("#unread")) {
      old.querySelector("#unread")?.remove();
      old.classList.add("stale");
      old.prepend(document.importNode(next.querySelector("#unread"), true));
      return;
    }
    for (const details of old.querySelectorAll("details.section")) {
      const same = next.querySelector("#" + CSS.escape(details.id));
      if (same && !same.querySelector(".is-wrong")) same.open = details.open;
    }
    old.replaceWith(document.importNode(next, true));
    form.dispatchEvent(new CustomEvent("listed"));
  }

  function tried(next) {
    const now = document.getElementById("tried");
    const focused = document.activeElement && now.contains(document.activeElement) ? document.activeElement : null;
    const key = focused && (focused.id ? "#" + focused.id : focused.dataset.step ? `[data-step=${focused.dataset.step}][data-by="${focused.dataset.by}"]` : null);
    for (const details of now.querySelectorAll("details")) {
      const same = next.querySelector("#" + details.id);
      if (same) same.open = details.open;
    }
    if (!next.querySelector(".which")) next.prepend(...now.querySelectorAll(".which"));
    const before = now.querySelector("[data-drawn]");
    if (before && !next.querySelector("[data-drawn]")) {
      before.classList.add("stale");
      next.append(before);
    }
    if (!next.dataset.names) next.dataset.names = now.dataset.names;
    const node = document.importNode(next, true);
    now.replaceWith(node);
    window.pictures.keep(before, node.querySelector("[data-drawn]:not(.stale)"));
    ready();
    if (key && node.querySelector(key)) node.querySelector(key).focus();
  }

  // The line that is at fault is marked in the text.
  function ready() {
    for (const step of document.querySelectorAll(".step")) step.hidden = false;
    const problem = document.getElementById("problem");
    const number = problem ? Number(problem.dataset.line) : 0;
    const marks = [];
    if (number > 0 && number <= editor.state.doc.lines) {
      const line = editor.state.doc.line(number);
      const indent = line.text.length - line.text.trimStart().length;
      const reason = problem.querySelector(".reason");
      marks.push({ from: line.from + indent, to: line.to, severity: "error", message: reason ? reason.textContent : "" });
    }
    editor.dispatch(setDiagnostics(editor.state, marks));
  }

  // goTo shows a line: of the script, or the sentence that it is.
  function goTo(hash, inScript) {
    const found = /^#line-(\d+)$/.exec(hash);
    if (!found || Number(found[1]) > editor.state.doc.lines) return false;
    const number = Number(found[1]);
    if (!inScript && form.classList.contains("as-sentences") && window.sentences && window.sentences.goTo(number)) return true;
    as("script");
    const line = editor.state.doc.line(number);
    editor.dispatch({ selection: { anchor: line.from }, effects: EditorView.scrollIntoView(line.from, { y: "center" }) });
    editor.focus();
    return true;
  }

  form.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#line-']");
    if (link && goTo(link.hash, link.closest("#sentences"))) event.preventDefault();
    const tab = event.target.closest(".tab");
    if (tab) {
      event.preventDefault();
      as(tab.value);
    }
    const step = event.target.closest("[data-step]");
    const size = event.target.closest("[data-body]");
    const select = step ? form.elements[step.dataset.step] : form.elements.body;
    if (step) select.selectedIndex = (select.selectedIndex + Number(step.dataset.by) + select.length) % select.length;
    if (size) select.value = size.dataset.body;
    if (step || size) later(0);
  });
  form.addEventListener("change", (event) => { if (event.target.matches("#body, #variant, #unit")) later(0); });

  // Somebody else may save a revision of the style meanwhile.
  async function follow() {
    if (!form.dataset.latest || document.hidden) return;
    try {
      const answer = await fetch(form.dataset.latest, { headers: { "HX-Request": "true" } });
      if (!answer.ok) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const next = page.getElementById("ahead"), old = document.getElementById("ahead");
      if (next.innerHTML !== old.innerHTML) old.replaceChildren(...next.childNodes);
    } catch { /* the next time */ }
  }
  document.addEventListener("visibilitychange", follow);
  setInterval(follow, 30000);

  window.writing = { form, edit, part, current, trouble };
  ready();
  goTo(location.hash, true);
  form.dataset.ready = "yes";
  draft();
});
