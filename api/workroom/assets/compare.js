// Two edges that are picked together are compared below the picture, with what would make
// them equal.
"use strict";

(() => {
  const form = document.getElementById("writing");
  if (!form || !window.picking) return;
  const { ask, stop } = window.picking;
  let pair = null;

  form.addEventListener("compared", async (event) => {
    pair = event.detail;
    if (!pair) {
      stop("compare");
      put(null);
      return;
    }
    const [a, b] = pair;
    const answer = await ask("compare", [["a_piece", a.piece], ["a_name", a.name], ["b_piece", b.piece], ["b_name", b.name]]);
    if (!answer) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (pair) put(page.getElementById("compared"));
  });

  function put(part) {
    const now = document.getElementById("compared");
    if (!now) return;
    const focused = now.contains(document.activeElement);
    now.replaceChildren(...(part ? document.importNode(part, true).childNodes : []));
    if (focused) document.getElementById("pick-part").focus();
    for (const button of now.querySelectorAll("[data-way]")) button.disabled = !window.sentences;
  }

  form.addEventListener("click", async (event) => {
    const button = event.target.closest("[data-way]");
    if (!button) return;
    const done = await window.sentences.apply([...new URLSearchParams(button.dataset.way)]);
    if (done && done.nodeType) button.after(document.importNode(done, true));
  });
})();
