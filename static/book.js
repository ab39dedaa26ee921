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

// The first thing to mend is where the keeper looks next.
document.addEventListener("DOMContentLoaded", () => {
  const first = document.querySelector(".faults, .questions");
  if (first) { first.focus(); first.scrollIntoView({ block: "start" }); }
});
