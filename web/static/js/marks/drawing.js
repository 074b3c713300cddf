// Marks drawn over a picture, in per cent of it; each is an element of its own that the keyboard reaches.

import { drawn, written } from "../sheet.js";
import { bounds } from "./shapes.js";

/** @typedef {import("./ledger.js").Mark} Mark */

const percent = (/** @type {number} */ part) => `${(part * 100).toFixed(3)}%`;
const CORNER_WORDS = ["Upper left corner", "Lower right corner"];

export class Drawing {
  /** @type {Map<string, {group: SVGElement, told: string}>} */
  #groups = new Map();
  #marks = drawn("g");
  #corners = drawn("g");
  svg = drawn("svg", { class: "layer", role: "group", "aria-label": "Marks" }, this.#marks, this.#corners);

  /**
   * Draw what is there now; the element of a mark that stays is kept, and with it the keyboard's place.
   * @param {readonly Mark[]} marks
   * @param {Mark | null} chosen
   */
  show(marks, chosen) {
    const keys = new Set(marks.map((mark) => mark.key));
    for (const [key, { group }] of this.#groups) {
      if (keys.has(key)) continue;
      group.remove();
      this.#groups.delete(key);
    }
    for (const mark of marks) this.#draw(mark, mark === chosen);
    this.#handles(chosen?.shape === "box" ? chosen : null);
  }

  /** @param {Mark} mark */
  group(mark) {
    return this.#groups.get(mark.key)?.group ?? null;
  }

  /** @param {Mark} mark @param {boolean} chosen */
  #draw(mark, chosen) {
    const had = this.#groups.get(mark.key);
    const group = had?.group ?? this.#marks.appendChild(drawn("g", { tabindex: 0, role: "button",
      "data-mark": mark.key }));
    const told = JSON.stringify([mark.shape, mark.points, mark.label]);
    if (had?.told !== told) group.replaceChildren(...shape(mark), ...badge(mark));
    this.#groups.set(mark.key, { group, told });
    written(group, {
      class: `mark ${mark.state}${chosen ? " chosen" : ""}`,
      "aria-pressed": String(chosen),
      "aria-label": words(mark),
    });
  }

  /** The two corners by which a chosen box is stretched. @param {Mark | null} box */
  #handles(box) {
    if (!box) return this.#corners.replaceChildren();
    if (!this.#corners.firstChild) this.#corners.append(handle(0), handle(1));
    const { left, top, right, bottom } = bounds(box.points);
    [[left, top], [right, bottom]].forEach(([x, y], at) =>
      written(/** @type {SVGElement} */ (this.#corners.children[at]), { x: percent(x), y: percent(y) }),
    );
  }
}

/** @param {number} corner */
function handle(corner) {
  const circle = drawn("circle", { r: 8, tabindex: 0, role: "button", class: "corner", "data-corner": corner });
  circle.setAttribute("aria-label", CORNER_WORDS[corner]);
  return drawn("svg", { overflow: "visible" }, circle);
}

/** @param {Mark} mark */
function words(mark) {
  const how = { failed: ", not saved", held: ", waits for a finding", changed: "", kept: "", sketched: "" }[mark.state];
  return mark.says + how;
}

/** The line twice: a light casing under a dark line shows on any photo. @param {Mark} mark @returns {SVGElement[]} */
function shape(mark) {
  const twice = (/** @type {string} */ name, /** @type {Record<string, string | number>} */ attributes) =>
    ["casing", "line"].map((part) => drawn(name, { class: part, ...attributes }));
  if (mark.points.length === 1) {
    const [x, y] = mark.points[0];
    const dots = [drawn("circle", { class: "reach", r: 22 }), ...twice("circle", { r: 11 }), drawn("circle",
      { class: "dot", r: 2 })];
    return [drawn("svg", { x: percent(x), y: percent(y), overflow: "visible" }, ...dots)];
  }
  const { left, top, right, bottom } = bounds(mark.points);
  if (mark.shape === "box") {
    return twice("rect", { x: percent(left), y: percent(top), width: percent(right - left),
      height: percent(bottom - top) });
  }
  const points = mark.points.map(([x, y]) => `${(x * 100).toFixed(2)},${(y * 100).toFixed(2)}`).join(" ");
  const whole = { viewBox: "0 0 100 100", preserveAspectRatio: "none", width: "100%", height: "100%" };
  return [drawn("svg", whole, ...twice(mark.state === "sketched" ? "polyline" : "polygon", { points }))];
}

/** @param {Mark} mark @returns {SVGElement[]} */
function badge(mark) {
  if (!mark.label) return [];
  const { left, top } = bounds(mark.points);
  const [x, y] = mark.shape === "pin" ? [13, -13] : [0, 0];
  const half = Math.max(10, 3 + 4 * mark.label.length);
  const plate = drawn("rect", { class: "badge", x: x - half, y: y - 10, width: 2 * half, height: 20, rx: 10 });
  const number = drawn("text", { class: "badge-number", x, y: y + 4.5 });
  number.textContent = mark.label;
  return [drawn("svg", { x: percent(left), y: percent(top), overflow: "visible" }, plate, number)];
}
