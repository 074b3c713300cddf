// Marks as figures: places are fractions of the picture, [across, down], each from 0 to 1.

/** @typedef {[number, number]} Place */
/** @typedef {"pin" | "box" | "outline"} Shape */

export const MOST_POINTS = 500;

/** @param {number} value @param {number} [least] @param {number} [most] */
export const within = (value, least = 0, most = 1) => Math.min(most, Math.max(least, value));

/**
 * @param {readonly Place[]} points
 * @returns {{left: number, top: number, right: number, bottom: number}}
 */
export function bounds(points) {
  const across = points.map((point) => point[0]);
  const down = points.map((point) => point[1]);
  return { left: Math.min(...across), top: Math.min(...down), right: Math.max(...across), bottom: Math.max(...down) };
}

/**
 * The points shifted together, stopped at the edge of the picture.
 * @param {readonly Place[]} points
 * @param {number} across
 * @param {number} down
 * @returns {Place[]}
 */
export function moved(points, across, down) {
  const { left, top, right, bottom } = bounds(points);
  const dx = within(across, -left, 1 - right);
  const dy = within(down, -top, 1 - bottom);
  return points.map(([x, y]) => [within(x + dx), within(y + dy)]);
}

/**
 * A box with one of its two corners shifted: 0 the upper left, 1 the lower right. The corners never pass each other.
 * @param {readonly Place[]} points
 * @param {0 | 1} corner
 * @param {number} across
 * @param {number} down
 * @returns {Place[]}
 */
export function stretched(points, corner, across, down) {
  const { left, top, right, bottom } = bounds(points);
  const least = 0.004;
  if (corner === 0) {
    return [[within(left + across, 0, right - least), within(top + down, 0, bottom - least)], [right, bottom]];
  }
  return [[left, top], [within(right + across, left + least, 1), within(bottom + down, top + least, 1)]];
}

/**
 * A mark of that shape in the middle of what is on show.
 * @param {Shape} shape
 * @param {{left: number, top: number, right: number, bottom: number}} view
 * @returns {Place[]}
 */
export function middle(shape, view) {
  const [x, y] = [(view.left + view.right) / 2, (view.top + view.bottom) / 2];
  const [rx, ry] = [(view.right - view.left) / 6, (view.bottom - view.top) / 6];
  if (shape === "pin") return [[x, y]];
  if (shape === "box") return [[x - rx, y - ry], [x + rx, y + ry]];
  const turns = Array.from({ length: 12 }, (_, step) => (step * Math.PI) / 6);
  return turns.map((turn) => [x + rx * Math.cos(turn), y + ry * Math.sin(turn)]);
}

/**
 * A freehand line with as few points as keep within `slack` of it (Ramer 1972, Douglas and Peucker 1973), and never
 * more than `most`. `aspect`: how much wider a step across is than one down.
 * @param {readonly Place[]} points
 * @param {number} aspect
 * @param {number} [slack]
 * @param {number} [most]
 * @returns {Place[]}
 */
export function simplified(points, aspect, slack = 0.002, most = MOST_POINTS) {
  const kept = thinned(points, aspect, slack);
  return kept.length <= most ? kept : simplified(points, aspect, slack * 1.5, most);
}

/** @param {readonly Place[]} points @param {number} aspect @param {number} slack @returns {Place[]} */
function thinned(points, aspect, slack) {
  const keep = new Set([0, points.length - 1]);
  const spans = [[0, points.length - 1]];
  while (spans.length) {
    const [first, last] = /** @type {[number, number]} */ (spans.pop());
    let [far, index] = [slack, -1];
    for (let at = first + 1; at < last; at += 1) {
      const away = fromLine(points[at], points[first], points[last], aspect);
      if (away > far) [far, index] = [away, at];
    }
    if (index < 0) continue;
    keep.add(index);
    spans.push([first, index], [index, last]);
  }
  return [...keep].sort((a, b) => a - b).map((at) => points[at]);
}

/**
 * How far a place lies from the line between two others, in heights of the picture times `aspect` across.
 * @param {Place} place @param {Place} from @param {Place} to @param {number} aspect
 */
export function fromLine(place, from, to, aspect) {
  const [px, py] = [(place[0] - from[0]) * aspect, place[1] - from[1]];
  const [dx, dy] = [(to[0] - from[0]) * aspect, to[1] - from[1]];
  const length = dx * dx + dy * dy;
  const along = length ? within((px * dx + py * dy) / length) : 0;
  return Math.hypot(px - along * dx, py - along * dy);
}

/**
 * How far a place lies from a mark's line, measured as `fromLine` does.
 * @param {Shape} shape @param {readonly Place[]} points @param {Place} place @param {number} aspect
 */
export function fromMark(shape, points, place, aspect) {
  if (shape === "pin") return fromLine(place, points[0], points[0], aspect);
  const ring = shape === "box" ? corners(points) : points;
  return Math.min(...ring.map((point, at) => fromLine(place, point, ring[(at + 1) % ring.length], aspect)));
}

/** @param {readonly Place[]} points @returns {Place[]} */
function corners(points) {
  const { left, top, right, bottom } = bounds(points);
  return [[left, top], [right, top], [right, bottom], [left, bottom]];
}

/** @param {readonly Place[]} points @param {Place} place */
export function holds(points, place) {
  const { left, top, right, bottom } = bounds(points);
  return place[0] >= left && place[0] <= right && place[1] >= top && place[1] <= bottom;
}

/** As the server reads places: `0.2500,0.5000;0.4000,0.6000`. @param {readonly Place[]} points */
export const inWriting = (points) => points.map(([x, y]) => `${x.toFixed(4)},${y.toFixed(4)}`).join(";");

/** @param {readonly Place[]} one @param {readonly Place[]} other */
export const alike = (one, other) => inWriting(one) === inWriting(other);
