// The keyboard over a picture: marks are nudged, stretched and taken off, the picture enlarged and shifted.

import { bounds, moved, stretched } from "./shapes.js";

const STEP = 0.0025;
const BIG_STEP = 0.025;
const PAN_STEP = 0.1;
/** @type {Record<string, [number, number]>} */
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * @param {import("../marks.js").PhotoMarks} owner
 * @param {KeyboardEvent} event
 */
export function onKey(owner, event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
  const target = /** @type {Element} */ (event.target);
  const onPicture = target === owner.window || owner.drawing.svg.contains(target);
  if (!onPicture || !done(owner, target, event)) return;
  event.preventDefault();
  event.stopPropagation();
}

/** @param {import("../marks.js").PhotoMarks} owner @param {Element} target @param {KeyboardEvent} event */
function done(owner, target, event) {
  const arrow = ARROWS[event.key];
  const onMark = target !== owner.window && owner.chosen;
  if (arrow) return onMark ? nudge(owner, target, arrow, event.shiftKey) : shift(owner, arrow);
  if (!onMark) return zoom(owner, event.key);
  if (event.key === "Delete" || event.key === "Backspace") owner.remove();
  else if (event.key === "Escape") leave(owner);
  else if (event.key !== "Enter" && event.key !== " ") return zoom(owner, event.key);
  return true;
}

/**
 * A step is a share of the picture's width, the same length across and down.
 * @param {import("../marks.js").PhotoMarks} owner @param {Element} target @param {[number, number]} arrow
 * @param {boolean} big
 */
function nudge(owner, target, [across, down], big) {
  const mark = /** @type {import("./ledger.js").Mark} */ (owner.chosen);
  const step = big ? BIG_STEP : STEP;
  const [dx, dy] = [across * step, down * step * owner.aspect];
  const corner = target.getAttribute("data-corner");
  const points =
    corner === null ? moved(mark.points, dx, dy) : stretched(mark.points, /** @type {0 | 1} */ (Number(corner)), dx,
      dy);
  const { left, top, right, bottom } = bounds(points);
  owner.view.follow(corner === "1" ? [right, bottom] : corner === "0" ? [left, top] : [(left + right) / 2,
    (top + bottom) / 2]);
  owner.change(mark, points);
  return true;
}

/** @param {import("../marks.js").PhotoMarks} owner @param {[number, number]} arrow */
function shift(owner, [across, down]) {
  if (!owner.view.enlarged) return false;
  owner.view.pan(-across * PAN_STEP, -down * PAN_STEP);
  owner.render();
  return true;
}

/** @param {import("../marks.js").PhotoMarks} owner @param {string} key */
function zoom(owner, key) {
  const ratio = { "+": 1.5, "=": 1.5, "-": 1 / 1.5, 0: 0 }[key];
  if (ratio === undefined) return false;
  owner.enlarge(ratio);
  return true;
}

/** @param {import("../marks.js").PhotoMarks} owner */
function leave(owner) {
  owner.choose(null);
  owner.window.focus({ preventScroll: true });
}
