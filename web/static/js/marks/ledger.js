// The marks of one photo and what the server knows of them: saved at once, and kept here when that fails.

import { send } from "../ask.js";
import { alike, inWriting } from "./shapes.js";

/**
 * `kept`: as the server has it. `changed`: not sent yet, or under way. `failed`: the server did not take it.
 * `held`: waits for a finding to take it along. `sketched`: a hand is still drawing it.
 * @typedef {object} Mark
 * @property {string} key  names it on this page
 * @property {number | null} id  null until the server has it
 * @property {import("./shapes.js").Shape} shape
 * @property {import("./shapes.js").Place[]} points
 * @property {import("./shapes.js").Place[]} [known]  where the server has it
 * @property {string} label
 * @property {string} says
 * @property {"kept" | "changed" | "failed" | "held" | "sketched"} state
 * @property {boolean} [busy]
 */

const PAUSE_MS = 400;
export const SHAPE_WORDS = { pin: "A pin", box: "A box", outline: "An outline" };
let made = 0;

export class Ledger {
  /** @type {Mark[]} */
  marks = [];
  /** @type {Map<Mark, number>} */
  #timers = new Map();
  /** Marks that are being taken off, by id. @type {Set<number>} */
  #going = new Set();
  /** Where a new mark is sent, and the part it belongs to if there is one. */
  action = "";
  part = "";

  /**
   * @param {string} photo
   * @param {(says: string) => void} changed  called after every answer of the server
   */
  constructor(photo, changed) {
    this.photo = photo;
    this.changed = changed;
  }

  /** Take over what the server tells; what it does not know yet stays. @param {any[]} told */
  load(told) {
    const had = new Map(this.marks.map((mark) => [mark.id, mark]));
    const stood = told.filter((one) => !this.#going.has(one.id)).map((one) => {
      const mark = had.get(one.id) ?? fresh(one.shape, one.points);
      const points = mark.state === "kept" || mark.id === null ? one.points : mark.points;
      const says = one.says || SHAPE_WORDS[mark.shape];
      if (mark.id === null) mark.state = "kept";
      return /** @type {Mark} */ (Object.assign(mark, { id: one.id, known: one.points, points, label: one.label ?? "",
        says }));
    });
    // A held mark that a finding has taken along comes back as the finding's own.
    const taken = (/** @type {Mark} */ mark) =>
      mark.state === "held" && stood.some((one) => one.shape === mark.shape && alike(one.points, mark.points));
    this.marks = [...stood, ...this.marks.filter((mark) => mark.id === null && !taken(mark))];
  }

  /** What the server has, as `load` reads it. */
  told() {
    const stood = this.marks.filter((mark) => mark.id !== null);
    return stood.map(({ id, shape, known, label, says }) => ({ id, shape, points: known, label, says }));
  }

  get held() {
    return this.marks.find((mark) => mark.state === "held") ?? null;
  }

  /** On the way to the server, or refused by it. */
  get unsaved() {
    return this.marks.filter((mark) => mark.state === "changed" || mark.state === "failed");
  }

  get failed() {
    return this.marks.filter((mark) => mark.state === "failed");
  }

  /**
   * @param {import("./shapes.js").Shape} shape
   * @param {import("./shapes.js").Place[]} points
   * @param {boolean} held  wait for a finding; another that waits gives way
   */
  add(shape, points, held) {
    const mark = fresh(shape, points);
    if (held) {
      this.marks = this.marks.filter((one) => one.state !== "held");
      mark.state = "held";
    } else this.later(mark, 0);
    this.marks.push(mark);
    return mark;
  }

  /** @param {Mark} mark @param {import("./shapes.js").Place[]} points @param {number} [pause] */
  change(mark, points, pause = PAUSE_MS) {
    mark.points = points;
    if (mark.state !== "held") this.later(mark, pause);
  }

  /** Save after a pause. @param {Mark} mark @param {number} pause */
  later(mark, pause) {
    mark.state = "changed";
    clearTimeout(this.#timers.get(mark));
    this.#timers.set(mark, setTimeout(() => this.#save(mark), pause));
  }

  /** Save now whatever waits. */
  flush() {
    for (const mark of [...this.#timers.keys()]) this.#save(mark);
  }

  retry() {
    for (const mark of this.failed) this.later(mark, 0);
  }

  /** @param {Mark} mark */
  async remove(mark) {
    this.#forget(mark);
    const at = this.marks.indexOf(mark);
    this.marks = this.marks.filter((one) => one !== mark);
    if (mark.id === null) return this.changed(mark.busy ? "" : "Mark taken off.");
    this.#going.add(mark.id);
    const answer = await send(`/marks/${mark.id}/remove`, { photo: this.photo });
    this.#going.delete(mark.id);
    if (!answer.ok && answer.status !== 404) this.marks.splice(at, 0, mark);
    this.changed(answer.ok ? answer.body.says : `Not taken off. ${answer.says}`);
  }

  /** @param {Mark} mark */
  async #save(mark) {
    this.#forget(mark);
    if (mark.busy) return;
    mark.busy = true;
    const { points, id } = mark;
    const at = inWriting(points);
    const answer =
      id === null
        ? await send(this.action, { shape: mark.shape, at, part: this.part || null }, { keepalive: true })
        : await send(`/marks/${id}/move`, { at }, { keepalive: true });
    mark.busy = false;
    if (answer.ok) this.#saved(mark, answer, points);
    else this.#refused(mark, answer);
  }

  /** @param {Mark} mark @param {import("../ask.js").Answer} answer @param {import("./shapes.js").Place[]} points */
  #saved(mark, answer, points) {
    mark.id = answer.body.mark.id;
    mark.known = points;
    if (!this.marks.includes(mark)) return void this.remove(mark);
    // A page that came meanwhile may have told of it already.
    this.marks = this.marks.filter((one) => one === mark || one.id !== mark.id);
    if (!alike(points, mark.points)) return this.#timers.has(mark) ? undefined : this.later(mark, 0);
    mark.state = "kept";
    this.changed(answer.says);
  }

  /** @param {Mark} mark @param {import("../ask.js").Answer} answer */
  #refused(mark, answer) {
    if (!this.marks.includes(mark)) return;
    mark.state = "failed";
    this.changed(`The mark is not saved. ${answer.says}`);
  }

  /** @param {Mark} mark */
  #forget(mark) {
    clearTimeout(this.#timers.get(mark));
    this.#timers.delete(mark);
  }
}

/** @param {import("./shapes.js").Shape} shape @param {import("./shapes.js").Place[]} points @returns {Mark} */
export function fresh(shape, points) {
  made += 1;
  return { key: `m${made}`, id: null, shape, points, label: "", says: SHAPE_WORDS[shape], state: "changed" };
}
