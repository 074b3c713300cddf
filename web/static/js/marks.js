// <photo-marks>: a picture that is marked with finger, mouse or keyboard, enlarged and shifted.
//
// It stands around the plate that the page shows without script, and touches nothing in it. Attributes: data-photo,
// data-marks (JSON), data-action (where a new mark is sent), data-part, data-large (a larger picture), data-tool.
// Events, all bubbling: mark-drawn {shape, points}, marks-changed {marks}.

import { Drawing } from "./marks/drawing.js";
import { grasped, markAt, panning } from "./marks/grasps.js";
import { Hand } from "./marks/hand.js";
import { onKey } from "./marks/keys.js";
import { Ledger, SHAPE_WORDS } from "./marks/ledger.js";
import { inWriting, middle, within } from "./marks/shapes.js";
import { HINTS, Tools } from "./marks/tools.js";
import { View } from "./marks/view.js";
import { made, sheet } from "./sheet.js";

/** @typedef {import("./marks/ledger.js").Mark} Mark */
/** @typedef {import("./marks/shapes.js").Place} Place */

const TAKERS = "form[data-takes-mark]";

export class PhotoMarks extends HTMLElement {
  static observedAttributes = ["data-photo", "data-marks", "data-action", "data-part", "data-large", "data-tool"];

  view = new View();
  drawing = new Drawing();
  /** @type {Mark | null} */
  chosen = null;
  /** @type {"" | import("./marks/shapes.js").Shape} */
  tool = "pin";
  ledger = new Ledger("", () => {});
  /** What is being drawn. @type {Mark | null} */
  sketch = null;
  /** Whether the space bar is held down over the picture. */
  spaced = false;
  /** Photos that were left with marks the server has not taken. @type {Ledger[]} */
  #left = [];
  #awaits = false;
  #ours = "";
  #ended = new AbortController();

  constructor() {
    super();
    this.stage = made("div", { class: "stage" }, made("slot"));
    this.window = made("div", { class: "window", tabindex: 0, role: "group" }, this.stage, this.drawing.svg);
    this.tools = new Tools(this);
    const root = this.attachShadow({ mode: "open" });
    root.adoptedStyleSheets = [sheet];
    root.append(this.window, this.tools.bar, this.tools.status);
    this.window.setAttribute("aria-label", "The picture. Plus and minus make it larger and smaller, arrows shift it.");
  }

  connectedCallback() {
    this.#ended = new AbortController();
    const { signal } = this.#ended;
    new Hand(this.window, this, signal);
    this.shadowRoot?.addEventListener("keydown", (event) => onKey(this, /** @type {KeyboardEvent} */ (event)),
      { signal });
    this.shadowRoot?.addEventListener("focusin", (event) => this.#focused(event), { signal });
    this.addEventListener("focusout", () => this.ledger.flush(), { signal });
    this.drawing.svg.addEventListener("click", (event) => this.#focused(event), { signal });
    document.addEventListener("submit", (event) => this.#taken(event), { signal, capture: true });
    document.addEventListener("keydown", (event) => this.#spaced(event), { signal });
    document.addEventListener("keyup", (event) => event.code === "Space" && (this.spaced = false), { signal });
    addEventListener("pagehide", () => this.ledger.flush(), { signal });
    this.#refresh();
  }

  disconnectedCallback() {
    this.#ended.abort();
    this.ledger.flush();
  }

  /** A page that is swapped in changes several attributes one after another; they are read together. */
  attributeChangedCallback(/** @type {string} */ name, /** @type {string | null} */ _old,
    /** @type {string | null} */ value) {
    if (name === "data-tool") this.tools.take(/** @type {any} */ (value ?? "pin"));
    if (this.#awaits || !this.isConnected) return;
    this.#awaits = true;
    queueMicrotask(() => {
      this.#awaits = false;
      if (this.isConnected) this.#refresh();
    });
  }

  #refresh() {
    const { photo = "", action = "", part = "", marks = "[]" } = this.dataset;
    if (photo !== this.ledger.photo) this.#begin(photo);
    Object.assign(this.ledger, { action, part });
    if (marks !== this.#ours) this.ledger.load(JSON.parse(marks));
    this.#ours = marks;
    if (this.chosen && !this.ledger.marks.includes(this.chosen)) this.chosen = null;
    this.#offer();
    this.render();
  }

  /** Another photo has come into the same place. @param {string} photo */
  #begin(photo) {
    this.ledger.flush();
    if (this.ledger.unsaved.length) this.#left.push(this.ledger);
    const ledger = new Ledger(photo, (says) => this.#told(ledger, says));
    this.ledger = ledger;
    this.view.whole();
    this.chosen = this.sketch = null;
    this.#ours = "";
    this.stage.querySelector(".large")?.remove();
    this.tools.say(HINTS[this.tool]);
  }

  render() {
    this.view.lay(this.stage, this.drawing.svg);
    this.drawing.show(this.sketch ? [...this.ledger.marks, this.sketch] : this.ledger.marks, this.chosen);
    this.tools.show();
    this.#sharpen();
  }

  /** The server has answered. @param {Ledger} ledger  perhaps of a photo that was left @param {string} says */
  #told(ledger, says) {
    this.#left = this.#left.filter((one) => one.unsaved.length);
    if (says) this.tools.say(ledger === this.ledger ? says : `Photo ${ledger.photo}: ${says}`);
    if (ledger !== this.ledger) return this.render();
    this.#ours = JSON.stringify(this.ledger.told());
    this.dataset.marks = this.#ours;
    if (this.chosen && !this.ledger.marks.includes(this.chosen)) this.chosen = null;
    this.render();
    this.dispatchEvent(new CustomEvent("marks-changed", { bubbles: true, detail: { marks: this.ledger.told() } }));
  }

  /** A larger picture over the one that is there, once that is shown past its own size. */
  async #sharpen() {
    const address = this.dataset.large;
    const small = this.querySelector("img");
    const wanted = this.stage.clientWidth * this.view.times * devicePixelRatio;
    if (!address || !small?.naturalWidth || wanted <= small.naturalWidth * 1.05) return;
    if (this.stage.querySelector(".large")) return;
    const large = /** @type {HTMLImageElement} */ (made("img", { class: "large", alt: "", src: address }));
    this.stage.append(large);
    await large.decode().catch(() => {});
    const alike = large.naturalHeight / large.naturalWidth / (small.naturalHeight / small.naturalWidth);
    large.classList.toggle("ready", large.naturalWidth > small.naturalWidth && Math.abs(alike - 1) < 0.02);
  }

  /** How much wider the picture is than high. */
  get aspect() {
    return this.stage.clientWidth / Math.max(this.stage.clientHeight, 1);
  }

  // What a hand does -------------------------------------------------------------------------------------------

  enlarged = () => this.view.enlarged;

  /** @param {[number, number]} at @param {PointerEvent} event */
  grasp(at, event) {
    return event.button === 1 || this.spaced ? panning(this) : grasped(this, this.view.place(at));
  }

  /** @param {[number, number]} at */
  tap(at) {
    const place = this.view.place(at);
    const hit = markAt(this, place);
    if (hit) return this.choose(hit, true);
    const wanted = this.tool === "pin" || (this.tool && !this.chosen);
    if (wanted) return this.draw("pin", [[within(place[0]), within(place[1])]]);
    this.choose(null);
  }

  twice() {
    this.enlarge(0);
  }

  /** @param {number} ratio @param {[number, number]} at @param {[number, number]} shift */
  pinch(ratio, at, shift) {
    this.view.zoom(ratio, at);
    this.view.pan(...shift);
    this.render();
  }

  /** @param {number} ratio  0 for the whole picture */
  enlarge(ratio) {
    if (ratio === 0) this.view.whole();
    else this.view.zoom(ratio);
    this.render();
  }

  // Marks ------------------------------------------------------------------------------------------------------

  /** A new mark: saved at once, or held for the next finding where the page has a form that takes it. */
  draw(/** @type {import("./marks/shapes.js").Shape} */ shape, /** @type {Place[]} */ points) {
    const event = new CustomEvent("mark-drawn", { bubbles: true, composed: true, cancelable: true, detail: { shape,
      points } });
    const held = !this.dispatchEvent(event) || document.querySelector(TAKERS) !== null;
    const mark = this.ledger.add(shape, points, held);
    this.tools.say(held ? `${SHAPE_WORDS[shape]} drawn. The finding you choose next takes it.` : "Saving the mark.");
    this.#offer();
    this.choose(mark, true);
  }

  drawInTheMiddle() {
    this.draw(this.tool || "pin", middle(this.tool || "pin", this.view.piece));
  }

  /** @param {Mark} mark @param {Place[]} points @param {number} [pause] */
  change(mark, points, pause) {
    this.ledger.change(mark, points, pause);
    this.#offer();
    this.render();
  }

  remove(mark = this.chosen) {
    if (!mark) return;
    this.ledger.remove(mark);
    this.#offer();
    this.choose(null);
    this.window.focus({ preventScroll: true });
  }

  /** Save a held mark without a finding. */
  keepLoose() {
    const mark = this.ledger.held;
    if (!mark) return;
    this.ledger.later(mark, 0);
    this.#offer();
    this.render();
  }

  get failed() {
    return [this.ledger, ...this.#left].flatMap((ledger) => ledger.failed);
  }

  retry() {
    for (const ledger of [this.ledger, ...this.#left]) ledger.retry();
    this.render();
  }

  /** @param {Mark | null} mark @param {boolean} [focus] */
  choose(mark, focus = false) {
    this.chosen = mark;
    this.render();
    const group = mark && this.drawing.group(mark);
    if (focus && group) group.focus({ preventScroll: true });
  }

  /** The forms that take a mark along carry the one that waits, or none. */
  #offer() {
    for (const form of document.querySelectorAll(TAKERS)) this.#fill(/** @type {HTMLFormElement} */ (form));
  }

  /** @param {HTMLFormElement} form */
  #fill(form) {
    const { held } = this.ledger;
    const fields = { shape: held?.shape ?? "", points: held ? inWriting(held.points) : "" };
    for (const [name, value] of Object.entries(fields)) {
      const input = /** @type {HTMLInputElement | null} */ (form.elements.namedItem(name));
      if (input) input.value = value;
    }
  }

  /**
   * A form is being sent: it takes the held mark along, whatever became of its fields meanwhile.
   * @param {SubmitEvent} event
   */
  #taken(event) {
    const form = /** @type {HTMLFormElement} */ (event.target);
    if (form.matches(TAKERS)) this.#fill(form);
  }

  /** @param {Event} event */
  #focused(event) {
    const group = /** @type {Element} */ (event.target).closest("[data-mark]");
    const mark = group && this.ledger.marks.find((one) => one.key === group.getAttribute("data-mark"));
    if (mark && mark !== this.chosen) this.choose(mark);
  }

  /** Held down over the picture, the space bar lets the mouse shift it. @param {KeyboardEvent} event */
  #spaced(event) {
    const [inside] = event.composedPath();
    if (event.code !== "Space" || !this.window.matches(":hover") ||
      /** @type {Element} */ (inside).matches("a, button, input, select, textarea, summary, [role=button]")) return;
    event.preventDefault();
    this.spaced = true;
  }
}

customElements.define("photo-marks", PhotoMarks);
