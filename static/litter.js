// The pages of a litter: pups added with one tap each, counts that follow, weights one after the
// other. Each page works without it: then there are blank lines and a button for more.
"use strict";

const MOST_PUPS = 20;

document.documentElement.classList.add("with-script");

function show(elements) {
  for (const element of elements) element.hidden = false;
}

// Counts with a plus and a minus.

function readCount(input) {
  return Number.parseInt(input.value, 10) || 0;
}

function prepareStepper(stepper) {
  const input = stepper.querySelector("input");
  for (const button of stepper.querySelectorAll("[data-step]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const most = 30;
      const wanted = readCount(input) + Number(button.dataset.step);
      input.value = Math.min(Math.max(wanted, 0), most);
      input.dispatchEvent(new Event("input", { bubbles: true }));
    });
  }
}

// The lines for pups.

class PupLines {
  constructor(form) {
    this.form = form;
    this.box = form.querySelector(".lines");
    this.template = form.querySelector(".pups template");
    this.total = form.querySelector("[name=pups-TOTAL_FORMS]");
    this.alive = form.querySelector("[name=born_alive]");
    this.numbers = form.dataset.numbers.split(" ");
  }

  get lines() {
    return [...this.box.querySelectorAll(".pup")];
  }

  begin() {
    // Lines that came back from the book are pups; the blank ones of a fresh page are not.
    const fresh = !this.form.querySelector(".faults, .questions");
    if (fresh && !("keepLines" in this.form.dataset)) {
      for (const line of this.lines) if (this.isBlank(line)) line.remove();
    }
    show(this.form.querySelectorAll(".add-pup"));
    this.box.addEventListener("click", (event) => this.clicked(event));
    this.box.addEventListener("input", (event) => {
      if (event.target.name.endsWith("-number")) this.count();
    });
    for (const button of this.form.querySelectorAll("[data-add-pup]")) {
      button.addEventListener("click", () => this.add(button.dataset.addPup));
    }
    // While it is typed, not when it is left: a line that came at the press on Save would push Save
    // away from under it.
    if (this.alive) this.alive.addEventListener("input", () => this.follow());
    this.count();
  }

  isBlank(line) {
    return [...line.querySelectorAll("input, textarea")].every((field) => {
      if (field.type === "radio") return !field.checked || ["", "sure"].includes(field.value);
      return field.type === "checkbox" ? !field.checked : field.value === "";
    });
  }

  add(sex) {
    if (this.lines.length >= MOST_PUPS) return;
    const last = this.lines.at(-1);
    this.box.append(this.template.content.cloneNode(true));
    const line = this.lines.at(-1);
    const box = line.querySelector(`input[type=radio][name$="-sex"][value="${sex}"]`);
    if (box) box.checked = true;
    if (last) line.querySelector("select[name$='-coat']").value = last.querySelector("select[name$='-coat']").value;
    this.count();
  }

  // The count alive was changed by hand: blank lines come, or the last blank ones go.
  follow() {
    const wanted = Math.min(readCount(this.alive), MOST_PUPS);
    while (this.lines.length < wanted) this.add("");
    for (const line of this.lines.reverse()) {
      if (this.lines.length > wanted && this.isBlank(line)) line.remove();
    }
    this.count(false);
  }

  clicked(event) {
    const line = event.target.closest(".pup");
    if (event.target.closest("[data-take-out]")) {
      line.remove();
      this.count();
      const next = this.lines.at(-1)?.querySelector("[data-take-out]");
      (next || this.form.querySelector("[data-add-pup]")).focus();
    } else if (event.target.closest("[data-same-coat]")) {
      const coat = line.querySelector("select[name$='-coat']").value;
      for (const other of this.lines) other.querySelector("select[name$='-coat']").value = coat;
    }
  }

  // Number the lines afresh, so that what is sent has no holes, and say what each will be called.
  count(setAlive = true) {
    const free = this.numbers.values();
    const typed = new Set(this.lines.map((line) => this.ownNumber(line)).filter(Boolean));
    this.lines.forEach((line, place) => {
      this.renumber(line, place);
      let number = this.ownNumber(line);
      while (!number) {
        const next = free.next();
        if (next.done) break;
        if (!typed.has(next.value)) number = next.value;
      }
      line.querySelector(".place").textContent = place + 1;
      line.querySelector(".own-number").textContent = number || "";
      line.setAttribute("aria-label", line.querySelector(".pup-head strong").textContent);
      show(line.querySelectorAll("[data-take-out]"));
      line.querySelector("[data-same-coat]").hidden = place > 0 || this.lines.length < 2;
    });
    this.total.value = this.lines.length;
    if (this.alive && setAlive) this.alive.value = this.lines.length;
  }

  ownNumber(line) {
    return line.querySelector("input[name$='-number']").value.trim();
  }

  renumber(line, place) {
    for (const element of line.querySelectorAll("*")) {
      for (const name of ["name", "id", "for", "list", "aria-describedby"]) {
        const value = element.getAttribute(name);
        if (value) element.setAttribute(name, value.replace(/pups-(\d+|__prefix__)-/g, `pups-${place}-`));
      }
    }
  }
}

// Enter in one weight goes to the next, so that a litter is typed without a tap between.

function nextOnEnter(form) {
  form.addEventListener("keydown", (event) => {
    const selector = "input[inputmode=numeric]:not(.count)";
    if (event.key !== "Enter" || !event.target.matches(selector)) return;
    event.preventDefault();
    const fields = [...form.querySelectorAll(selector)];
    const next = fields[fields.indexOf(event.target) + 1];
    (next || form.querySelector(".actions button")).focus();
  });
}

document.addEventListener("DOMContentLoaded", () => {
  for (const stepper of document.querySelectorAll(".stepper")) prepareStepper(stepper);
  for (const form of document.querySelectorAll(".litter-form[data-numbers]")) new PupLines(form).begin();
  for (const form of document.querySelectorAll(".litter-form, .next-on-enter")) nextOnEnter(form);
});
