// What part of the picture is on show: how many times enlarged, and which place lies in the upper left corner.

import { within } from "./shapes.js";

const MOST_TIMES = 10;

export class View {
  times = 1;
  /** The place in the upper left corner, as fractions of the picture. */
  across = 0;
  down = 0;

  get enlarged() {
    return this.times > 1;
  }

  /** The piece on show, as fractions of the picture. */
  get piece() {
    const size = 1 / this.times;
    return { left: this.across, top: this.down, right: this.across + size, bottom: this.down + size };
  }

  /**
   * Enlarge `ratio` times more, with what lies under a place of the window staying under it.
   * @param {number} ratio
   * @param {[number, number]} [at]  fractions of the window; its middle where none is given
   */
  zoom(ratio, at = [0.5, 0.5]) {
    const times = within(this.times * ratio, 1, MOST_TIMES);
    const [across, down] = this.place(at);
    this.times = times;
    this.show(across - at[0] / times, down - at[1] / times);
  }

  /** Shift what is on show, by fractions of the window. @param {number} across @param {number} down */
  pan(across, down) {
    this.show(this.across - across / this.times, this.down - down / this.times);
  }

  /** Bring that place of the picture into the upper left corner, as far as the picture goes. */
  show(/** @type {number} */ across, /** @type {number} */ down) {
    this.across = within(across, 0, 1 - 1 / this.times);
    this.down = within(down, 0, 1 - 1 / this.times);
  }

  /** Shift just enough that a place of the picture is on show. @param {[number, number]} place */
  follow([across, down]) {
    const { left, top, right, bottom } = this.piece;
    const edge = 0.05 / this.times;
    const shift = (/** @type {number} */ value, /** @type {number} */ least, /** @type {number} */ most) =>
      value < least ? value - least : value > most ? value - most : 0;
    this.show(left + shift(across, left + edge, right - edge), top + shift(down, top + edge, bottom - edge));
  }

  whole() {
    Object.assign(this, { times: 1, across: 0, down: 0 });
  }

  /**
   * From fractions of the window to fractions of the picture.
   * @param {[number, number]} at
   * @returns {[number, number]}
   */
  place([x, y]) {
    return [this.across + x / this.times, this.down + y / this.times];
  }

  /**
   * Lay the picture and what is drawn over it: the drawing grows by its own size, so that its lines keep their width.
   * @param {HTMLElement} picture
   * @param {SVGElement} drawing
   */
  lay(picture, drawing) {
    const { times, across, down } = this;
    picture.style.transform = times === 1 ? "" : `scale(${times}) translate(${-across * 100}%, ${-down * 100}%)`;
    drawing.style.width = drawing.style.height = `${times * 100}%`;
    drawing.style.left = `${-across * times * 100}%`;
    drawing.style.top = `${-down * times * 100}%`;
  }
}
