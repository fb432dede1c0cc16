// A blank with a length has a handle on the point of the picture that moves with it: by
// the pointer a millimetre a step, by the arrow keys one, with Shift ten.
"use strict";

(() => {
  const form = document.getElementById("writing");
  if (!form || !window.picking) return;
  const { ask, stop, placed, svg } = window.picking;
  const many = 10; // mm with Shift

  let blank = null; // { start, end } in the script
  let from = null; // what the server answered: the point, its way for each mm, the length
  let mm = 0; // the length now
  let steps = 0;
  let drag = null;

  const handle = document.createElement("div");
  handle.className = "handle";
  handle.id = "handle";
  handle.hidden = true;
  handle.tabIndex = 0;
  handle.setAttribute("role", "slider");
  handle.setAttribute("aria-label", "The length in the blank that is open");
  (form.querySelector(".side") || form).prepend(handle);

  form.addEventListener("blank", (event) => {
    blank = event.detail;
    if (!drag) find();
  });
  form.addEventListener("drawn", () => { if (!drag && blank) find(); });

  async function find() {
    if (!blank) {
      stop("handle");
      from = null;
      place();
      return;
    }
    const before = steps;
    const answer = await ask("handle", Object.entries(blank));
    if (!answer) return;
    const found = await answer.json().catch(() => null);
    if (drag || !blank || steps !== before) return; // it was moved meanwhile: the next picture says where it is
    from = found;
    if (from) mm = from.mm;
    place();
  }

  // place puts the handle where its point is in the window.
  function place() {
    const picture = svg(), at = from && picture && placed(from.piece);
    handle.hidden = !at;
    if (!at) return;
    watch(picture);
    const moved = mm - from.mm;
    const point = new DOMPoint(from.x + at.x + from.dx * moved, from.y + at.y + from.dy * moved)
      .matrixTransform(picture.getScreenCTM());
    const seen = picture.getBoundingClientRect(), around = handle.parentNode.getBoundingClientRect();
    handle.classList.toggle("outside", point.x < seen.left || point.x > seen.right || point.y < seen.top || point.y > seen.bottom);
    handle.style.left = `${point.x - around.left + handle.parentNode.scrollLeft}px`;
    handle.style.top = `${point.y - around.top + handle.parentNode.scrollTop}px`;
    handle.style.setProperty("--way", `${Math.atan2(from.dy, from.dx)}rad`);
    const inch = form.elements.unit && form.elements.unit.value === "inch";
    const shown = inch ? Math.round(mm / 25.4 * 100) / 100 : Math.round(mm) / 10;
    const values = { valuenow: shown, valuetext: `${shown} ${inch ? "inch" : "cm"}`, valuemin: Math.min(0, shown - 50), valuemax: shown + 50 };
    for (const [name, value] of Object.entries(values)) handle.setAttribute(`aria-${name}`, String(value));
  }

  // The picture is zoomed, moved and replaced.
  const zoomed = new MutationObserver(place), resized = new ResizeObserver(place);
  let watched = null;
  function watch(picture) {
    if (picture === watched) return;
    watched = picture;
    zoomed.disconnect();
    resized.disconnect();
    zoomed.observe(picture, { attributes: true, attributeFilter: ["viewBox"] });
    resized.observe(picture);
    resized.observe(form);
  }

  function set(next) {
    if (next === mm || !blank) return;
    mm = next;
    steps += 1;
    place();
    form.dispatchEvent(new CustomEvent("dragged", { detail: { ...blank, mm } }));
  }

  handle.addEventListener("pointerdown", (event) => {
    if (!from || event.button > 0) return;
    event.preventDefault();
    handle.focus({ preventScroll: true });
    handle.setPointerCapture(event.pointerId);
    drag = { x: event.clientX, y: event.clientY, mm };
  });
  handle.addEventListener("pointermove", (event) => {
    const picture = svg();
    if (!drag || !picture) return;
    const scale = picture.getScreenCTM();
    const x = (event.clientX - drag.x) / scale.a, y = (event.clientY - drag.y) / scale.d;
    const way = from.dx * from.dx + from.dy * from.dy;
    set(Math.round(drag.mm + (x * from.dx + y * from.dy) / way));
  });
  for (const end of ["pointerup", "pointercancel"]) {
    handle.addEventListener(end, () => { drag = null; });
  }
  handle.addEventListener("keydown", (event) => {
    const steps = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: many, PageDown: -many };
    const step = steps[event.key];
    if (!step) return;
    event.preventDefault();
    set(Math.round(mm + (event.shiftKey && Math.abs(step) === 1 ? many * step : step)));
  });
})();
