// The style sheet that our own elements share, and the two small makers of elements they are built with.

/**
 * Fetched once, before any element that wants it is defined: until then the page is its plain self.
 * @returns {Promise<CSSStyleSheet>}
 */
async function fetched() {
  const answer = await fetch(new URL("../elements.css", import.meta.url));
  if (!answer.ok) throw new Error(`No style sheet for the page's own elements: ${answer.status}`);
  const sheet = new CSSStyleSheet();
  await sheet.replace(await answer.text());
  return sheet;
}

export const sheet = await fetched();

/**
 * An element with attributes and what it holds. An attribute that is false or null is left out; true stands empty.
 * @param {string} name
 * @param {Record<string, string | number | boolean | null>} [attributes]
 * @param {...(Node | string)} inside
 * @returns {HTMLElement}
 */
export function made(name, attributes = {}, ...inside) {
  const element = document.createElement(name);
  written(element, attributes).append(...inside);
  return element;
}

/**
 * The same for a drawing.
 * @param {string} name
 * @param {Record<string, string | number | boolean | null>} [attributes]
 * @param {...Node} inside
 * @returns {SVGElement}
 */
export function drawn(name, attributes = {}, ...inside) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  written(element, attributes).append(...inside);
  return element;
}

/**
 * @template {Element} Kind
 * @param {Kind} element
 * @param {Record<string, string | number | boolean | null>} attributes
 * @returns {Kind}
 */
export function written(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null) element.removeAttribute(name);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  return element;
}

/**
 * A button that says what it does.
 * @param {string} words
 * @param {() => void} pressed
 * @param {Record<string, string | boolean | null>} [attributes]
 * @returns {HTMLButtonElement}
 */
export function button(words, pressed, attributes = {}) {
  const element = made("button", { type: "button", ...attributes }, words);
  element.addEventListener("click", pressed);
  return /** @type {HTMLButtonElement} */ (element);
}
