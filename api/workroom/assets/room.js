// What the pages share: a form's failure is shown without losing the form, one
// checkbox chooses all, and "/" goes to the search.
"use strict";

document.addEventListener("htmx:responseError", (event) => {
  const answer = new DOMParser().parseFromString(event.detail.xhr.responseText, "text/html");
  const said = answer.querySelector("main section") || answer.querySelector("main");
  const trouble = document.getElementById("trouble");
  trouble.replaceChildren(...(said ? said.childNodes : [document.createTextNode("The server did not answer as it should.")]));
  trouble.scrollIntoView({ block: "nearest" });
});

document.addEventListener("htmx:sendError", () => {
  document.getElementById("trouble").textContent = "The server cannot be reached. Nothing was changed; try again.";
});

document.addEventListener("change", (event) => {
  const name = event.target.dataset && event.target.dataset.all;
  if (!name) return;
  for (const box of event.target.form.elements) {
    if (box.name === name) box.checked = event.target.checked;
  }
});

// Part of a page that is loaded again keeps what is chosen in it, and does not take away
// what somebody types: the page then says that it is no longer the latest.
document.addEventListener("htmx:beforeSwap", (event) => {
  const { target } = event.detail;
  const chosen = new Set([...target.querySelectorAll("input:checked")].map((box) => box.value));
  const typing = target.contains(document.activeElement) && document.activeElement.matches("input:not([type=checkbox]), textarea, select");
  const typed = [...target.querySelectorAll("form[data-keep] :is(input, textarea):not([type=checkbox], [type=hidden])")]
    .some((field) => field.value !== field.defaultValue);
  if (typing || typed) event.detail.shouldSwap = false;
  if (typed) document.getElementById("news").textContent = "Something changed meanwhile. What you typed is still here: save it, or load the page again to see the change.";
  if (chosen.size) {
    document.addEventListener("htmx:afterSettle", () => {
      for (const box of document.querySelectorAll("#queue input[type=checkbox]")) box.checked = chosen.has(box.value);
    }, { once: true });
  }
});

document.addEventListener("keydown", (event) => {
  const find = document.getElementById("find");
  if (event.key !== "/" || !find || event.target.matches("input, textarea, select, [contenteditable]")) return;
  event.preventDefault();
  find.focus();
});

// The figure shows the tape of the measurement that is being typed, and a
// finding's button types the number that would be right.
document.addEventListener("focusin", (event) => {
  const name = event.target.dataset && event.target.dataset.measure;
  if (!name) return;
  for (const tape of document.querySelectorAll("[data-tape]")) tape.classList.toggle("on", tape.dataset.tape === name);
});

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-set]");
  if (!button) return;
  const field = document.getElementById("m-" + button.dataset.set);
  field.value = button.dataset.value;
  field.focus();
  field.dispatchEvent(new Event("input", { bubbles: true }));
});
