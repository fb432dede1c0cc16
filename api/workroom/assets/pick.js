// Picking in the picture of a style: an edge, dart, line, mark or piece is named and
// measured under the pointer, and picked by a click, a touch or two lists. What is
// picked stays so in the next picture. The form hears "picked", and tells by "said"
// which lines of the script to show the work of.
"use strict";

(() => {
  const form = document.getElementById("writing");
  if (!form) return;
  const still = 4; // px that a press may move and still pick
  const drawing = "http://www.w3.org/2000/svg";

  let picked = null, other = null; // { kind, piece, name }
  let comparing = false; // the lists, and the first click, choose the other edge
  let said = null; // { from, to }

  const find = (id) => document.getElementById(id);
  const svg = () => form.querySelector("#tried [data-drawn] svg");
  const key = (thing) => `${thing.kind}/${thing.name}`;
  const same = (a, b) => Boolean(a && b) && a.piece === b.piece && key(a) === key(b);

  // The shape of a thing in the picture, and what is known of it.
  function shapeOf(thing) {
    const group = [...form.querySelectorAll(".picks > g")].find((g) => g.dataset.piece === thing.piece);
    return group ? [...group.children].find((s) => s.dataset.kind === thing.kind && s.dataset.name === thing.name) || null : null;
  }

  function factsOf(thing) {
    const all = find("pick-parts");
    return all ? [...all.content.children].find((o) => o.dataset.piece === thing.piece && o.value === key(thing)) || null : null;
  }

  function thingOf(shape) {
    return { kind: shape.dataset.kind, piece: shape.parentNode.dataset.piece, name: shape.dataset.name };
  }

  // name says what a thing is and how long: front neckline, 14.2 cm.
  function name(thing) {
    const facts = factsOf(thing);
    if (!facts) return "";
    const { said: words, measure } = facts.dataset;
    return words + (measure ? ", " + measure : "");
  }

  // layer returns an empty group of the picture for what is shown over it.
  function layer(of) {
    const picture = svg();
    if (!picture) return null;
    let group = picture.querySelector(`g.over-${of}`);
    if (!group) {
      group = document.createElementNS(drawing, "g");
      group.setAttribute("class", `over over-${of}`);
      picture.append(group);
    }
    group.replaceChildren();
    return group;
  }

  function show(of, things) {
    const group = layer(of);
    if (!group) return;
    for (const thing of things) {
      const shape = shapeOf(thing);
      if (shape) group.append(shape.cloneNode());
    }
  }

  // placed says how far a piece is moved in the picture from where it was drafted, mm.
  function placed(piece) {
    const group = [...form.querySelectorAll(".picks > g")].find((g) => g.dataset.piece === piece);
    return group ? { x: Number(group.dataset.x), y: Number(group.dataset.y) } : null;
  }

  function pick(thing, second) {
    const edges = picked && thing && picked.kind === "edge" && thing.kind === "edge" && !same(thing, picked);
    comparing = second && (edges || comparing);
    other = comparing && edges ? thing : null;
    if (!comparing) picked = thing;
    refresh();
    tell();
  }

  let told = null; // what the form was told last

  function tell() {
    if (picked !== told) form.dispatchEvent(new CustomEvent("picked", { detail: picked && { ...picked, element: picked.name } }));
    told = picked;
    form.dispatchEvent(new CustomEvent("compared", { detail: other && [picked, other] }));
  }

  // refresh shows what is picked in the picture, the lists and the line below it.
  function refresh() {
    show("picked", picked ? [picked] : []);
    show("other", other ? [other] : []);
    showSaid();
    const line = find("picked");
    if (!line) return;
    const compare = find("pick-compare");
    if (compare) {
      compare.hidden = !picked || picked.kind !== "edge";
      compare.textContent = comparing ? "Stop comparing" : "Compare with another edge";
    }
    fillLists(other || picked);
    if (comparing && !other) {
      line.textContent = `Pick the edge to compare with ${name(picked)}.`;
    } else if (picked) {
      line.replaceChildren(...describe(picked));
    } else {
      line.textContent = line.dataset.start;
    }
  }

  // describe says what a thing is, and which sentences made and changed it.
  function describe(thing) {
    const facts = factsOf(thing);
    if (!facts) return [];
    const [made, madeIn, changed, changedIn] = facts.dataset.lines.split(" ").map(Number);
    const strong = document.createElement("strong");
    const text = name(thing);
    strong.textContent = text[0].toUpperCase() + text.slice(1);
    const parts = [strong, ". ", ...(made ? ["Made by ", ...sentenceAt(madeIn || made)] : ["Made by the block."])];
    if (changed && changed !== made) parts.push(" Last changed by ", ...sentenceAt(changedIn || changed));
    return parts;
  }

  function sentenceAt(line) {
    const all = find("pick-sayings");
    const found = all && [...all.content.children].find((p) => Number(p.dataset.line) === line);
    const link = document.createElement("a");
    link.href = `#line-${line}`;
    link.textContent = `line ${line}`;
    const text = found ? found.textContent : "";
    return text ? ["“" + (text.length > 160 ? text.slice(0, 160) + "…" : text) + "”, ", link, "."] : [link, "."];
  }

  function fillLists(thing) {
    const pieces = find("pick-piece"), parts = find("pick-part");
    pieces.value = thing ? thing.piece : "";
    const of = [...find("pick-parts").content.children].filter((o) => thing && o.dataset.piece === thing.piece);
    parts.replaceChildren(...of.map((o) => o.cloneNode(true)));
    parts.disabled = of.length === 0;
    if (thing) parts.value = key(thing);
  }

  // What a sentence made or changed, where the column says which lines it has.
  function showSaid() {
    const all = find("pick-parts");
    const within = (line) => said && line >= said.from && line <= said.to;
    const things = !said || !all ? [] : [...all.content.children]
      .filter((o) => o.dataset.lines.split(" ").map(Number).some((line) => line > 0 && within(line)))
      .map((o) => ({ piece: o.dataset.piece, kind: o.value.split("/")[0], name: o.value.split("/")[1] }));
    const parts = things.filter((t) => t.kind !== "piece").map((t) => t.piece);
    show("said", things.filter((t) => t.kind !== "piece" || !parts.includes(t.piece)));
  }

  // The pointer.
  let press = null;

  function under(event) {
    for (const element of document.elementsFromPoint(event.clientX, event.clientY)) {
      if (element.closest(".handle")) return null;
      if (element.closest(".picks") && element.dataset.kind) return thingOf(element);
    }
    return null;
  }

  const inPicture = (event) => event.target.closest("#tried [data-drawn] svg");

  form.addEventListener("pointerdown", (event) => {
    if (!inPicture(event) || event.target.closest(".handle")) return;
    press = press ? { ...press, alone: false } : { id: event.pointerId, x: event.clientX, y: event.clientY, alone: true };
    hideTip();
  });
  form.addEventListener("pointerup", (event) => {
    if (!press || event.pointerId !== press.id) return;
    const { x, y, alone } = press;
    press = null;
    if (!alone || Math.hypot(event.clientX - x, event.clientY - y) >= still || event.button > 0) return;
    pick(under(event), event.shiftKey || (comparing && !other));
  });
  form.addEventListener("pointercancel", () => { press = null; });
  form.addEventListener("pointermove", (event) => {
    if (press || event.pointerType === "touch") return;
    const thing = inPicture(event) ? under(event) : null;
    show("near", thing ? [thing] : []);
    if (thing) showTip(event, name(thing));
    else hideTip();
  });
  form.addEventListener("pointerleave", () => { show("near", []); hideTip(); });

  let tip = null;

  function showTip(event, text) {
    const figure = event.target.closest("[data-drawn]");
    if (!tip || tip.parentNode !== figure) {
      if (tip) tip.remove();
      tip = document.createElement("div");
      tip.className = "tip";
      tip.setAttribute("aria-hidden", "true"); // the lists say it
      figure.append(tip);
    }
    tip.hidden = text === "";
    tip.textContent = text;
    const box = figure.getBoundingClientRect();
    const left = Math.min(event.clientX - box.left + 14, box.width - tip.offsetWidth - 4);
    tip.style.left = `${Math.max(4, left)}px`;
    tip.style.top = `${event.clientY - box.top + 18}px`;
  }

  function hideTip() {
    if (tip) tip.hidden = true;
  }

  // The lists, which pick by keyboard what the pointer picks.
  form.addEventListener("change", (event) => {
    const pieces = find("pick-piece"), parts = find("pick-part");
    if (event.target === pieces) {
      const whole = { kind: "piece", piece: pieces.value, name: "" };
      if (comparing) fillLists(whole);
      else pick(pieces.value ? whole : null, false);
    }
    if (event.target === parts && parts.value) {
      const [kind, part] = parts.value.split("/");
      pick({ kind, piece: pieces.value, name: part }, comparing);
    }
  });
  form.addEventListener("click", (event) => {
    if (!event.target.closest("#pick-compare")) return;
    comparing = !comparing;
    other = null;
    refresh();
    tell();
  });

  form.addEventListener("said", (event) => {
    said = event.detail;
    showSaid();
  });

  // The bodies below the picture stay until the server has tried the script on them, and
  // the one that has the focus keeps it.
  let tried = null, focused = "";
  document.addEventListener("focusin", (event) => { focused = event.target.dataset.body || ""; });
  const replaced = new MutationObserver(() => {
    if (!focused || (document.activeElement && document.activeElement !== document.body)) return;
    const button = [...form.querySelectorAll("#sizes [data-body]")].find((b) => b.dataset.body === focused);
    if (button) button.focus({ preventScroll: true });
  });

  function keepBodies() {
    const now = form.querySelector("#tried");
    let bodies = now.querySelector("#sizes");
    const old = tried && tried !== now && tried.querySelector("#sizes");
    if (old && bodies && !bodies.hasChildNodes()) {
      bodies.replaceWith(old);
      bodies = old;
      bodies.setAttribute("aria-busy", "true");
    }
    const figure = now.querySelector("[data-drawn]");
    if (figure && bodies && figure.nextElementSibling !== bodies) figure.after(bodies);
    if (tried !== now) {
      replaced.disconnect();
      replaced.observe(now, { childList: true });
    }
    tried = now;
  }

  // A new picture keeps what is picked, if it still has it.
  function drawn() {
    keepBodies();
    if (!svg()) return;
    hideTip();
    const gone = picked && !factsOf(picked);
    if (gone) picked = null;
    comparing = comparing && Boolean(picked);
    if (!picked || (other && !factsOf(other))) other = null;
    refresh();
    if (gone) tell();
    else form.dispatchEvent(new CustomEvent("compared", { detail: other && [picked, other] }));
  }
  form.addEventListener("drawn", drawn);
  document.addEventListener("DOMContentLoaded", drawn);

  window.picking = { svg, layer, placed, find, drawing, picked: () => picked };
})();
