// What makes the pages quicker to use. Each page works without it.
"use strict";

// A form sent twice by a nervous thumb: the book writes it once, this says that it is on its way.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  for (const button of form.querySelectorAll("button:not([type=button])")) {
    // After the browser has read the form, or the pressed button's own value would be lost.
    setTimeout(() => { button.disabled = true; }, 0);
  }
});

// Back from another page: the buttons work again.
window.addEventListener("pageshow", () => {
  for (const button of document.querySelectorAll("form button[disabled]")) button.disabled = false;
});

// The menu closes on Escape and on a press beside it.
document.addEventListener("keydown", (event) => {
  const menu = event.key === "Escape" && document.querySelector(".menu[open]");
  if (menu) { menu.open = false; menu.querySelector("summary").focus(); }
});
document.addEventListener("click", (event) => {
  const menu = document.querySelector(".menu[open]");
  if (menu && !menu.contains(event.target)) menu.open = false;
});

// A chart wider than its place begins with the animal that it is of in the middle.
function showSubjects(part) {
  for (const box of part.querySelectorAll(".scroll.chart")) {
    const subject = box.querySelector(".subject");
    if (!subject || box.scrollWidth <= box.clientWidth) continue;
    const place = subject.getBoundingClientRect(), seen = box.getBoundingClientRect();
    box.scrollLeft += place.left + place.width / 2 - seen.left - seen.width / 2;
  }
}
window.addEventListener("load", () => showSubjects(document));
document.addEventListener("htmx:afterSettle", (event) => showSubjects(event.target));
// A chart in a part that is opened later has no width until then.
document.addEventListener("toggle", (event) => showSubjects(event.target), true);

// The first thing to mend is where the keeper looks next.
document.addEventListener("DOMContentLoaded", () => {
  const first = document.querySelector(".faults, .questions");
  if (first) { first.focus(); first.scrollIntoView({ block: "start" }); }
});
