// Pictures of patterns: [data-picture] names an SVG, which replaces the image in it
// and can be zoomed to a stitch by wheel, fingers, buttons or keys, and dragged.
"use strict";

(() => {
  const step = 1.25;

  async function open(figure) {
    if (figure.dataset.open) return;
    figure.dataset.open = "yes";
    const text = await load(figure.dataset.picture);
    const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    if (svg.nodeName !== "svg") return;
    const image = figure.querySelector("img");
    name(svg, image ? image.alt : "Picture");
    figure.replaceChildren(document.importNode(svg, true));
    furnish(figure);
  }

  function name(svg, text) {
    svg.removeAttribute("width");
    svg.removeAttribute("height");
    svg.setAttribute("tabindex", "0");
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", text + ". Plus and minus zoom, arrows move, 0 shows all.");
  }

  // keep furnishes the drawing that takes the place of another, and shows the same
  // part of it if the other was zoomed.
  function keep(before, after) {
    const svg = after && after.querySelector("svg");
    if (!svg) return;
    name(svg, "The pattern");
    furnish(after);
    const view = before && views.get(before.querySelector("svg"));
    if (view && view.now.join() !== view.all.join()) show(svg, view.now);
  }
  window.pictures = { keep };

  // furnish gives the drawing in a figure its buttons, keys and pointers.
  function furnish(figure) {
    figure.append(tools(figure));
    control(figure.querySelector("svg"));
  }

  // A picture that is not stored anywhere comes in its own address.
  async function load(address) {
    const [start, data] = address.split("base64,");
    if (start.startsWith("data:")) return new TextDecoder().decode(Uint8Array.from(atob(data), (c) => c.charCodeAt(0)));
    const answer = await fetch(address);
    return answer.ok ? answer.text() : "";
  }

  function tools(figure) {
    const bar = document.createElement("div");
    bar.className = "tools";
    for (const [text, key] of [["Larger", "+"], ["Smaller", "-"], ["All", "0"]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = text;
      button.addEventListener("click", () => press(figure.querySelector("svg"), key));
      bar.append(button);
    }
    return bar;
  }

  const views = new WeakMap(); // what each picture shows: all of it, and now

  function control(svg) {
    const box = svg.viewBox.baseVal;
    views.set(svg, { all: [box.x, box.y, box.width, box.height], now: [box.x, box.y, box.width, box.height] });
    svg.addEventListener("wheel", (event) => {
      event.preventDefault();
      zoom(svg, event.deltaY < 0 ? step : 1 / step, point(svg, event));
    }, { passive: false });
    const fingers = new Map();
    svg.addEventListener("pointerdown", (event) => {
      svg.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, event);
    });
    svg.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const from = point(svg, before), to = point(svg, event);
      if (fingers.size === 2) {
        const other = [...fingers.values()].find((f) => f.pointerId !== event.pointerId);
        const spread = (e) => Math.hypot(e.clientX - other.clientX, e.clientY - other.clientY) || 1;
        zoom(svg, spread(event) / spread(before), point(svg, other));
      } else {
        move(svg, from.x - to.x, from.y - to.y);
      }
      fingers.set(event.pointerId, event);
    });
    for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, (event) => fingers.delete(event.pointerId));
    svg.addEventListener("keydown", (event) => {
      if (press(svg, event.key)) event.preventDefault();
    });
  }

  function press(svg, key) {
    const view = views.get(svg), [x, y, width, height] = view.now;
    const middle = { x: x + width / 2, y: y + height / 2 };
    switch (key) {
      case "+": case "=": zoom(svg, step, middle); break;
      case "-": zoom(svg, 1 / step, middle); break;
      case "0": show(svg, view.all); break;
      case "ArrowLeft": move(svg, -width / 10, 0); break;
      case "ArrowRight": move(svg, width / 10, 0); break;
      case "ArrowUp": move(svg, 0, -height / 10); break;
      case "ArrowDown": move(svg, 0, height / 10); break;
      default: return false;
    }
    return true;
  }

  function point(svg, event) {
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  }

  function zoom(svg, factor, at) {
    const { all, now: [x, y, width, height] } = views.get(svg);
    const wide = Math.min(Math.max(width / factor, 5), all[2] * 2); // from 5 mm to twice the pattern
    const scale = wide / width;
    show(svg, [at.x - (at.x - x) * scale, at.y - (at.y - y) * scale, wide, height * scale]);
  }

  function move(svg, dx, dy) {
    const { now: [x, y, width, height] } = views.get(svg);
    show(svg, [x + dx, y + dy, width, height]);
  }

  function show(svg, box) {
    views.get(svg).now = box;
    svg.setAttribute("viewBox", box.join(" "));
  }

  const openAll = (root) => root.querySelectorAll("[data-picture]").forEach(open);
  document.addEventListener("DOMContentLoaded", () => {
    openAll(document);
    document.querySelectorAll("[data-drawn]").forEach((figure) => keep(null, figure));
  });
  document.addEventListener("htmx:load", (event) => openAll(event.detail.elt.parentNode || document));
})();
