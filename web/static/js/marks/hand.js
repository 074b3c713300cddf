// What fingers, mouse and wheel do over a picture, told as taps, drags and pinches in fractions of its window.

/** @typedef {[number, number]} At  fractions of the window */
/**
 * What a drag has taken hold of.
 * @typedef {{move: (at: At, before: At) => void, done: () => void, drop: () => void}} Grasp
 */
/**
 * @typedef {object} Owner
 * @property {(at: At, event: PointerEvent) => Grasp | null} grasp  what a drag that begins there would take hold of
 * @property {(at: At) => void} tap
 * @property {() => void} twice  two taps at once on an enlarged picture
 * @property {(ratio: number, at: At, shift: At) => void} pinch
 * @property {() => boolean} enlarged
 */

const TWICE_MS = 280;
const SLOP_PX = { touch: 8, pen: 5, mouse: 3 };
/** A page that is being scrolled by the wheel goes on scrolling when the picture comes under the pointer. */
const SCROLLING_MS = 250;

export class Hand {
  /** @type {Map<number, {first: At, now: At, far: boolean}>} */
  #down = new Map();
  /** @type {Grasp | null} */
  #grasp = null;
  #pinching = false;
  #waiting = 0;
  #scrolled = -SCROLLING_MS;

  /**
   * @param {HTMLElement} surface
   * @param {Owner} owner
   * @param {AbortSignal} signal  ends it
   */
  constructor(surface, owner, signal) {
    this.surface = surface;
    this.owner = owner;
    const on = (/** @type {string} */ name, /** @type {(event: any) => void} */ then, more = {}) =>
      surface.addEventListener(name, then, { signal, ...more });
    on("pointerdown", (event) => this.#press(event));
    on("pointermove", (event) => this.#move(event));
    on("pointerup", (event) => this.#lift(event));
    on("pointercancel", (event) => this.#cancel(event));
    on("wheel", (event) => this.#wheel(event), { passive: false });
    on("touchstart", (event) => this.#touch(event), { passive: false });
    on("mousedown", (event) => event.button === 1 && event.preventDefault());
    on("dragstart", (event) => event.preventDefault());
    addEventListener("scroll", () => (this.#scrolled = performance.now()), { signal, passive: true });
    signal.addEventListener("abort", () => clearTimeout(this.#waiting));
  }

  /** @param {PointerEvent | WheelEvent} event @returns {At} */
  #at(event) {
    const box = this.surface.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
  }

  /** @param {PointerEvent} event */
  #press(event) {
    if (event.button > 1) return;
    const at = this.#at(event);
    this.#down.set(event.pointerId, { first: at, now: at, far: false });
    this.surface.setPointerCapture(event.pointerId);
    if (this.#down.size === 1) this.#grasp = this.owner.grasp(at, event);
    else this.#together();
  }

  /** A second finger: what one finger began is dropped. */
  #together() {
    this.#grasp?.drop();
    this.#grasp = null;
    this.#pinching = true;
  }

  /** The browser may scroll the page with a single finger that takes hold of nothing. @param {TouchEvent} event */
  #touch(event) {
    if ((this.#grasp || event.touches.length > 1) && event.cancelable) event.preventDefault();
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const finger = this.#down.get(event.pointerId);
    if (!finger) return;
    const [before, at] = [finger.now, this.#at(event)];
    const others = [...this.#down.values()].filter((one) => one !== finger);
    finger.now = at;
    if (this.#pinching && others.length === 1) return this.#pinch(others[0].now, before, at);
    const { width, height } = this.surface.getBoundingClientRect();
    const away = Math.hypot((at[0] - finger.first[0]) * width, (at[1] - finger.first[1]) * height);
    const begins = !finger.far && away > (SLOP_PX[/** @type {"touch"} */ (event.pointerType)] ?? 3);
    if (begins) finger.far = true;
    if (finger.far) this.#grasp?.move(at, begins ? finger.first : before);
  }

  /** @param {At} still @param {At} before @param {At} now */
  #pinch(still, before, now) {
    const { width, height } = this.surface.getBoundingClientRect();
    const apart = (/** @type {At} */ one) => Math.hypot((one[0] - still[0]) * width, (one[1] - still[1]) * height);
    const middle = /** @type {At} */ ([(still[0] + before[0]) / 2, (still[1] + before[1]) / 2]);
    const shift = /** @type {At} */ ([(now[0] - before[0]) / 2, (now[1] - before[1]) / 2]);
    this.owner.pinch(apart(now) / Math.max(apart(before), 1), middle, shift);
  }

  /** @param {PointerEvent} event */
  #lift(event) {
    const finger = this.#down.get(event.pointerId);
    if (!finger) return;
    this.#down.delete(event.pointerId);
    const [grasp, pinching] = [this.#grasp, this.#pinching];
    if (this.#down.size === 0) [this.#grasp, this.#pinching] = [null, false];
    if (pinching) return;
    if (finger.far) grasp?.done();
    else if (event.button === 0) this.#tapped(finger.now);
  }

  /** @param {PointerEvent} event */
  #cancel(event) {
    if (!this.#down.delete(event.pointerId)) return;
    this.#grasp?.drop();
    this.#grasp = null;
    this.#pinching = this.#down.size > 0;
  }

  /** On an enlarged picture a tap waits whether another follows. @param {At} at */
  #tapped(at) {
    if (!this.owner.enlarged()) return this.owner.tap(at);
    if (this.#waiting) {
      clearTimeout(this.#waiting);
      this.#waiting = 0;
      return this.owner.twice();
    }
    this.#waiting = setTimeout(() => {
      this.#waiting = 0;
      this.owner.tap(at);
    }, TWICE_MS);
  }

  /** @param {WheelEvent} event */
  #wheel(event) {
    const closer = event.deltaY < 0;
    const passing = performance.now() - this.#scrolled < SCROLLING_MS && !event.ctrlKey;
    if (!this.owner.enlarged() && ((!closer && !event.ctrlKey) || passing)) return;
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1;
    const strength = event.ctrlKey ? 0.01 : 0.002;
    this.owner.pinch(Math.exp(-event.deltaY * lines * strength), this.#at(event), [0, 0]);
  }
}
