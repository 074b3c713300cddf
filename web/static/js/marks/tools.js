// The buttons under a picture, and the line that says what happened or what to do.

import { button, made } from "../sheet.js";

/** @type {Record<string, string>} */
export const HINTS = {
  "": "Nothing is drawn. Choose a shape to mark a place.",
  pin: "Tap the picture where it is.",
  box: "Drag over it from corner to corner.",
  outline: "Draw round it with the finger or the mouse.",
};
const SHAPES = /** @type {const} */ ([["pin", "Pin"], ["box", "Box"], ["outline", "Outline"]]);
const STEP = 1.5;

export class Tools {
  /** @param {import("../marks.js").PhotoMarks} owner */
  constructor(owner) {
    this.owner = owner;
    this.shapes = SHAPES.map(([shape, words]) => button(words, () => this.take(owner.tool === shape ? "" : shape),
      { "data-shape": shape }));
    this.smaller = button("−", () => owner.enlarge(1 / STEP), { "aria-label": "Smaller" });
    this.larger = button("+", () => owner.enlarge(STEP), { "aria-label": "Larger" });
    this.middle = button("Put one in the middle", () => owner.drawInTheMiddle(), { class: "middle" });
    this.off = button("Take this mark off", () => owner.remove());
    this.loose = button("Keep it without a finding", () => owner.keepLoose());
    this.again = button("Try again", () => owner.retry(), { class: "main-act" });
    const shapes = made("div", { role: "group", "aria-label": "What to draw", class: "together" }, ...this.shapes);
    const sizes = made("div", { role: "group", "aria-label": "How large", class: "together" }, this.smaller,
      this.larger);
    this.bar = made("div", { class: "tools" }, shapes, sizes, this.middle, this.off, this.loose, this.again);
    this.status = made("p", { role: "status" });
  }

  /** What can be done now. */
  show() {
    const { tool, view, chosen, ledger } = this.owner;
    for (const one of this.shapes) one.setAttribute("aria-pressed", String(one.dataset.shape === tool));
    // A button that is switched off loses the keyboard's place, so these only say that they would do nothing.
    this.smaller.setAttribute("aria-disabled", String(!view.enlarged));
    this.off.hidden = chosen === null;
    this.loose.hidden = ledger.held === null;
    this.again.hidden = this.owner.failed.length === 0;
    this.owner.window.classList.toggle("draws", tool !== "");
    this.owner.window.classList.toggle("enlarged", view.enlarged);
  }

  /** @param {string} words */
  say(words) {
    if (this.status.textContent !== words) this.status.textContent = words;
  }

  /** Take up a shape, or lay it down. @param {"" | "pin" | "box" | "outline"} shape */
  take(shape) {
    this.owner.tool = shape;
    this.say(HINTS[shape]);
    this.owner.render();
  }
}
