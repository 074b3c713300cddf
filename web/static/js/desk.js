// What makes the plain pages quick: keys, the next picture fetched ahead, and the focus after a page was swapped.
// Every page works without it: a key presses a link or button that is there, and nothing else.

const TYPED_IN = "input:not([type=checkbox], [type=radio], [type=submit], [type=button]), textarea, select";

/** @param {KeyboardEvent} event */
function onKey(event) {
  if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
  const target = /** @type {Element} */ (event.target);
  if (target.closest?.(TYPED_IN)) {
    if (event.key === "Escape") target.blur();
    return;
  }
  if (event.key === "Escape") return closeOpened();
  if (target.closest?.("photo-marks") && event.key.startsWith("Arrow")) return;
  const pressed = withKey(event.key);
  if (!pressed) return;
  event.preventDefault();
  press(pressed);
}

/**
 * The first element on show that answers to the key; within an opened choice its own keys come first.
 * @param {string} key
 */
function withKey(key) {
  const wanted = [...document.querySelectorAll("[data-key]")].filter(
    (one) => one.dataset.key === key && one.checkVisibility(),
  );
  return wanted.find((one) => one.closest("details[open][data-keys], dialog[open]")) ?? wanted[0];
}

/** @param {HTMLElement} one */
function press(one) {
  if (one.matches("photo-marks")) return one.shadowRoot?.querySelector("[tabindex]")?.focus();
  if (one.matches("input:not([type=radio], [type=checkbox]), textarea, select")) one.focus();
  else one.click();
  if (one.matches("summary")) one.scrollIntoView({ block: "nearest" });
}

function closeOpened() {
  for (const one of document.querySelectorAll("details[open][data-keys]")) one.open = false;
}

/** Fetch ahead what the page says will be wanted next, once the page's own pictures are there. */
function fetchAhead() {
  for (const one of document.querySelectorAll("[data-ahead]")) {
    const picture = new Image();
    picture.decoding = "async";
    picture.src = one.dataset.ahead;
  }
}

/** After a link was followed the page begins at its top, and a screen reader at its heading. */
function startAtTop(event) {
  const source = event.detail?.ctx?.sourceElement;
  if (!source?.matches?.("a")) return;
  const anchor = new URL(source.href).hash;
  const there = anchor && document.getElementById(anchor.slice(1));
  if (there) there.scrollIntoView();
  else window.scrollTo(0, 0);
  document.getElementById("main")?.focus({ preventScroll: true });
}

/**
 * A refusal is told where the page tells what was done; what was pressed stays as it is. A page that was asked for
 * as a page may be a refusal itself.
 */
function tellRefusal(event) {
  const { response, sourceElement, text } = event.detail.ctx;
  if (!response || response.status < 400 || !sourceElement?.hasAttribute("hx-post")) return;
  event.preventDefault();
  const told = new DOMParser().parseFromString(text, "text/html").querySelectorAll("main > p");
  const place = document.getElementById("said");
  place.replaceChildren(...[...told].filter((one) => !one.querySelector("a")));
  place.hidden = false;
}

/** The list of marks under the picture tells what the server holds, also when the picture saved one by itself. */
function countMarks(event) {
  const list = document.querySelector(".marks-told");
  if (list && Number(list.dataset.count) !== event.detail.marks.length) list.hidden = true;
}

document.addEventListener("marks-changed", countMarks);
document.addEventListener("keydown", onKey);
document.addEventListener("htmx:before:swap", tellRefusal);
document.addEventListener("htmx:after:swap", (event) => {
  startAtTop(event);
  fetchAhead();
});
addEventListener("load", fetchAhead);
