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
  let unsaved = false;
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
        area.value = update.state.doc.toString();
        unsaved = true;
        later(pause);
      }),
    ],
  });
  document.getElementById("plain").hidden = true;
  form.querySelector("[value=show]").hidden = true;
  form.addEventListener("submit", (event) => {
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

  // Drafting: one request at a time, the latest wins.
  let timer = 0, asked = null;

  function later(wait) {
    clearTimeout(timer);
    timer = setTimeout(draft, wait);
  }

  async function part(address, signal) {
    const answer = await fetch(address, {
      method: "POST", body: new URLSearchParams(new FormData(form)), headers: { "HX-Request": "true" }, signal,
    });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return { ok: answer.ok, status: answer.status, page };
  }

  async function draft() {
    if (asked) asked.abort();
    asked = new AbortController();
    const { signal } = asked;
    const begun = performance.now();
    try {
      const answer = await part("/workroom/try", signal);
      if (answer.status === 429) return later(1000);
      const trouble = document.getElementById("trouble");
      trouble.replaceChildren(...(answer.ok ? [] : answer.page.querySelector("main section, main").childNodes));
      if (!answer.ok) return undefined;
      show(answer.page.getElementById("tried"));
      requestAnimationFrame(() => setTimeout(() => { // painted
        form.dataset.took = String(Math.round(performance.now() - begun));
        form.dataset.drafts = String(Number(form.dataset.drafts || 0) + 1);
      }));
      const sizes = await part("/workroom/try/sizes", signal);
      if (sizes.ok) document.getElementById("sizes").replaceWith(sizes.page.getElementById("sizes"));
    } catch (error) {
      if (error.name !== "AbortError") document.getElementById("trouble").textContent = "The server cannot be reached. Your script is not lost: go on writing, and it is drafted when the server answers.";
    }
    return undefined;
  }

  // What cannot be drafted leaves the last picture and the choice of bodies in place.
  function show(next) {
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
    form.dispatchEvent(new CustomEvent("drawn"));
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

  function goTo(hash) {
    const found = /^#line-(\d+)$/.exec(hash);
    if (!found || Number(found[1]) > editor.state.doc.lines) return false;
    const line = editor.state.doc.line(Number(found[1]));
    editor.dispatch({ selection: { anchor: line.from }, effects: EditorView.scrollIntoView(line.from, { y: "center" }) });
    editor.focus();
    return true;
  }

  form.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#line-']");
    if (link && goTo(link.hash)) event.preventDefault();
    const step = event.target.closest("[data-step]");
    const size = event.target.closest("[data-body]");
    const select = step ? form.elements[step.dataset.step] : form.elements.body;
    if (step) select.selectedIndex = (select.selectedIndex + Number(step.dataset.by) + select.length) % select.length;
    if (size) select.value = size.dataset.body;
    if (step || size) later(0);
  });
  form.addEventListener("change", (event) => { if (event.target.matches("#body, #variant")) later(0); });

  ready();
  goTo(location.hash);
  form.dataset.ready = "yes";
  draft();
});
