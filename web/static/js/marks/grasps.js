// What a drag takes hold of: the picture itself, a mark that is there, or a mark that is only being drawn.

import { fresh } from "./ledger.js";
import { bounds, fromMark, holds, moved, simplified, stretched, within } from "./shapes.js";

/** @typedef {import("../marks.js").PhotoMarks} Owner */
/** @typedef {import("./ledger.js").Mark} Mark */
/** @typedef {import("./shapes.js").Place} Place */
/** @typedef {import("./hand.js").Grasp} Grasp */

/** Below this a drag has drawn no box. */
const LEAST_PX = 6;
/** How near to a mark's line a press takes hold of it. */
const REACH_PX = { pin: 22, box: 16, outline: 16 };

/**
 * What a drag that begins there takes hold of; nothing lets the page be scrolled.
 * @param {Owner} owner
 * @param {Place} place
 */
export function grasped(owner, place) {
  const { chosen, tool } = owner;
  const corner = cornerAt(owner, place);
  if (chosen && corner !== null) return shaping(owner, chosen, (from, dx, dy) => stretched(from, corner, dx, dy));
  const hit = markAt(owner, place);
  const draws = tool === "box" || tool === "outline";
  const inside = !draws && chosen && holds(chosen.points, place) ? chosen : null;
  // Where a drag draws, only a mark that was chosen first is moved: a new one may begin on the line of another.
  const target = (draws && hit !== chosen ? null : hit) ?? inside;
  if (target) return shaping(owner, target, moved);
  if (draws) return sketching(owner, place);
  return owner.view.enlarged ? panning(owner) : null;
}

/** @param {Owner} owner @param {Place} place @param {Place} from */
function awayPx(owner, place, from) {
  return fromMark("pin", [from], place, owner.aspect) * owner.stage.clientHeight * owner.view.times;
}

/** The mark a press there means. @param {Owner} owner @param {Place} place */
export function markAt(owner, place) {
  const px = owner.stage.clientHeight * owner.view.times;
  const away = (/** @type {Mark} */ mark) => fromMark(mark.shape, mark.points, place, owner.aspect) * px;
  const near = owner.ledger.marks.filter((mark) => away(mark) <= REACH_PX[mark.shape]);
  return near.sort((one, other) => away(one) - away(other))[0] ?? null;
}

/**
 * The corner of the chosen box a press there means.
 * @param {Owner} owner
 * @param {Place} place
 * @returns {0 | 1 | null}
 */
function cornerAt(owner, place) {
  if (owner.chosen?.shape !== "box") return null;
  const { left, top, right, bottom } = bounds(owner.chosen.points);
  const away = [awayPx(owner, place, [left, top]), awayPx(owner, place, [right, bottom])];
  const corner = away[0] <= away[1] ? 0 : 1;
  return away[corner] <= REACH_PX.pin ? corner : null;
}

/** Shift what is on show. @param {Owner} owner @returns {Grasp} */
export function panning(owner) {
  const stay = () => {};
  return {
    move(at, before) {
      owner.view.pan(at[0] - before[0], at[1] - before[1]);
      owner.render();
    },
    done: stay,
    drop: stay,
  };
}

/**
 * Move a mark or one of its corners.
 * @param {Owner} owner
 * @param {Mark} mark
 * @param {(points: Place[], dx: number, dy: number) => Place[]} shape  where the mark is after a step from where it was
 * @returns {Grasp}
 */
function shaping(owner, mark, shape) {
  const from = mark.points;
  let [dx, dy] = [0, 0];
  const put = (/** @type {Place[]} */ points) => {
    mark.points = points;
    owner.choose(mark);
  };
  return {
    move(at, before) {
      dx += (at[0] - before[0]) / owner.view.times;
      dy += (at[1] - before[1]) / owner.view.times;
      put(shape(from, dx, dy));
    },
    done: () => owner.change(mark, mark.points, 0),
    drop: () => put(from),
  };
}

/** Draw a box or an outline. @param {Owner} owner @param {Place} begun @returns {Grasp} */
function sketching(owner, begun) {
  const shape = /** @type {"box" | "outline"} */ (owner.tool);
  const sketch = { ...fresh(shape, [begun]), state: /** @type {const} */ ("sketched") };
  const put = (/** @type {Mark | null} */ mark) => {
    owner.sketch = mark;
    owner.render();
  };
  return {
    move(at) {
      const place = /** @type {Place} */ (owner.view.place(at).map((value) => within(value)));
      sketch.points = shape === "box" ? [begun, place] : [...sketch.points, place];
      put(sketch);
    },
    done() {
      put(null);
      finish(owner, shape, sketch.points);
    },
    drop: () => put(null),
  };
}

/** @param {Owner} owner @param {"box" | "outline"} shape @param {Place[]} drawn */
function finish(owner, shape, drawn) {
  const { left, top, right, bottom } = bounds(drawn);
  const least = LEAST_PX / (owner.stage.clientWidth * owner.view.times);
  if (right - left < least || bottom - top < least || drawn.length < 2) {
    return owner.tools.say(`That was too small for ${shape === "box" ? "a box" : "an outline"}. Draw it larger.`);
  }
  if (shape === "box") return owner.draw("box", [[left, top], [right, bottom]]);
  const points = simplified(drawn, owner.aspect);
  if (points.length < 3) return owner.tools.say("That was a line. Draw right round the place.");
  owner.draw("outline", points);
}
