// What an edit that is not made yet would change is drawn in grey over the picture, or
// said why it cannot be made.
"use strict";

(() => {
  const form = document.getElementById("writing");
  if (!form || !window.picking) return;
  const { layer, placed, picked, drawing } = window.picking;

  // fields are those of the form that say what is drafted, and others.
  function fields(more) {
    const all = new URLSearchParams();
    for (const name of ["script", "body", "variant", "unit"]) {
      const field = form.elements[name];
      if (field) all.set(name, field.value);
    }
    for (const [name, value] of more) all.append(name, value);
    return all;
  }

  // ask posts what is drafted. The latest of a kind counts: null is the answer to others,
  // and to what the server does not answer.
  const asked = {};
  async function ask(kind, more) {
    if (asked[kind]) asked[kind].abort();
    const mine = asked[kind] = new AbortController();
    for (let wait = 300; wait < 3000; wait *= 2) {
      try {
        const answer = await fetch(`/workroom/try/${kind}`, {
          method: "POST", body: fields(more), headers: { "HX-Request": "true" }, signal: mine.signal,
        });
        if (answer.status !== 429) return answer.ok && asked[kind] === mine ? answer : null;
      } catch {
        return null; // the page says elsewhere that the server cannot be reached
      }
      await new Promise((done) => { setTimeout(done, wait); });
    }
    return null;
  }

  function stop(kind) {
    if (asked[kind]) asked[kind].abort();
    asked[kind] = null;
  }

  form.addEventListener("guess", async (event) => {
    if (!event.detail) {
      stop("guess");
      show([], "");
      return;
    }
    const answer = await ask("guess", event.detail);
    if (!answer) return;
    const { pieces, reason } = await answer.json().catch(() => ({})); // the latest guess ends the one before it
    if (asked.guess) show(pieces || [], reason);
  });
  form.addEventListener("drawn", () => { stop("guess"); show([], ""); });

  function show(pieces, reason) {
    const group = layer("guess");
    for (const piece of group ? pieces : []) {
      const at = placed(piece.piece) || (picked() && placed(picked().piece)) || { x: 0, y: 0 };
      const path = document.createElementNS(drawing, "path");
      path.setAttribute("d", piece.path);
      path.setAttribute("transform", `translate(${at.x} ${at.y})`);
      group.append(path);
    }
    say(reason);
  }

  // say says beside the offer why it cannot be made.
  function say(reason) {
    const line = document.getElementById("guess-reason");
    if (!reason) {
      if (line) line.remove();
      return;
    }
    const next = line || document.createElement("p");
    next.id = "guess-reason";
    next.className = "wrong";
    next.setAttribute("role", "status");
    next.textContent = reason;
    const root = document.getElementById("adding") || document.getElementById("panel") || document.getElementById("offers");
    if (root && next.parentNode !== root) root.append(next);
  }

  Object.assign(window.picking, { ask, stop });
})();
