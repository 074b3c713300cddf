// <upload-queue>: photos chosen or dropped are sent one at a time, and told how each ended.
// <upload-status>: how far that has come, on any other page. Both see to it that the sending goes on.
//
// Attributes of both: data-survey (whose photos), data-action (where they are sent). Of the queue: data-most (the
// largest file in bytes), data-how (JSON: how a file may end, in words, in the order to be shown), data-next
// (where to go afterwards). Of the
// status: data-page (where the queue is shown). Both dispatch a bubbling uploads-changed {total, ended, left, failed}.

import { button, made, sheet } from "./sheet.js";
import { filesIn, worthSending } from "./uploads/gather.js";
import { Queue } from "./uploads/queue.js";

/** @typedef {import("./uploads/store.js").Entry} Entry */

/** Beyond the file itself a sending holds its own few lines. */
const ENVELOPE_BYTES = 4096;

/** @param {number} count */
const photos = (count) => `${count} ${count === 1 ? "file" : "files"}`;

/** @param {readonly Entry[]} entries */
function counted(entries) {
  const of = (/** @type {string} */ state) => entries.filter((entry) => entry.state === state).length;
  const [ended, failed] = [of("ended"), of("failed")];
  return { total: entries.length, ended, failed, left: entries.length - ended - failed };
}

/** How it stands, in a sentence. @param {Queue} queue */
function standing(queue) {
  const { total, ended, failed, left } = counted(queue.entries);
  if (queue.paused && left) return `Paused. ${photos(left)} still to be sent.`;
  if (queue.shut && left) {
    return "Teachest was started anew. Open the address that it printed; sending goes on by itself.";
  }
  if (queue.silent && left) return "Teachest does not answer. Sending goes on as soon as it does.";
  if (left) return queue.unkept ? "Sending. Leave this page open: the browser had no room to keep the files." :
    "Sending. You may leave this page.";
  if (failed) return `${photos(failed)} could not be sent.`;
  return total ? `All sent: ${photos(ended)}.` : "";
}

/** What both elements have in common: the queue of their survey, and drawing again when it changes. */
class OfTheQueue extends HTMLElement {
  static observedAttributes = ["data-survey", "data-action", "data-most"];
  /** @type {Queue | null} */
  queue = null;
  #ended = new AbortController();
  #drawn = false;

  constructor() {
    super();
    this.attachShadow({ mode: "open" }).adoptedStyleSheets = [sheet];
  }

  connectedCallback() {
    const { survey = "", action = "", most } = this.dataset;
    this.#ended.abort();
    this.#ended = new AbortController();
    this.queue = Queue.of(survey, action);
    if (most) this.queue.most = Number(most) - ENVELOPE_BYTES;
    this.queue.addEventListener("changed", () => this.#changed(), { signal: this.#ended.signal });
    this.begin(this.#ended.signal);
    this.#changed();
  }

  disconnectedCallback() {
    this.#ended.abort();
  }

  attributeChangedCallback() {
    if (this.isConnected && this.queue) this.connectedCallback();
  }

  /** Listen to what only this element needs. @param {AbortSignal} _signal */
  begin(_signal) {}

  /** Draw how it stands. @param {Queue} _queue */
  show(_queue) {}

  /** Many changes at once are drawn once. */
  #changed() {
    if (this.#drawn) return;
    this.#drawn = true;
    setTimeout(() => {
      this.#drawn = false;
      if (!this.queue || !this.isConnected) return;
      this.show(this.queue);
      this.dispatchEvent(new CustomEvent("uploads-changed", { bubbles: true, detail: counted(this.queue.entries) }));
    }, 50);
  }
}

class UploadQueue extends OfTheQueue {
  #folder = /** @type {HTMLInputElement} */ (made("input", { type: "file", webkitdirectory: true, multiple: true,
    hidden: true, tabindex: -1 }));
  #count = made("b");
  #bar = /** @type {HTMLProgressElement} */ (made("progress", { "aria-label": "Sent" }));
  #status = made("p", { role: "status" });
  #hold = button("Pause", () => this.queue?.pause(!this.queue.paused));
  #again = button("Try again", () => this.queue?.retry(), { class: "main-act" });
  #clear = button("Clear the list", () => this.queue?.clear());
  #next = made("a", { class: "button main-act" }, "Place the waiting photos");
  #lists = made("div");
  #progress = made("section", { class: "progress", "aria-label": "Sending" });

  constructor() {
    super();
    const whole = button("Choose a whole folder", () => this.#folder.click());
    whole.hidden = !("webkitdirectory" in this.#folder);
    this.#folder.addEventListener("change", () => this.#take(this.#folder));
    const hint = made("p", { class: "small dropped-hint" },
      "Or drop photos and folders anywhere on this page. They are sent one after the other.");
    this.#progress.append(
      made("p", { class: "count" }, this.#count, this.#bar),
      this.#status,
      made("div", { class: "tools" }, this.#next, this.#again, this.#hold, this.#clear),
      this.#lists,
    );
    this.shadowRoot?.append(made("div", { class: "drop" }, made("slot"), this.#folder, whole, hint), this.#progress);
  }

  /** @param {AbortSignal} signal */
  begin(signal) {
    this.addEventListener("change", (event) => this.#take(/** @type {HTMLInputElement} */ (event.target)), { signal });
    document.addEventListener("dragover", (event) => this.#over(event), { signal });
    document.addEventListener("drop", (event) => this.#dropped(event), { signal });
  }

  /** @param {HTMLInputElement} input */
  async #take(input) {
    if (input.type !== "file") return;
    const files = worthSending(input.files ?? []);
    input.value = "";
    await this.queue?.add(files);
  }

  /** @param {DragEvent} event */
  #over(event) {
    if (event.dataTransfer?.types.includes("Files")) event.preventDefault();
  }

  /** @param {DragEvent} event */
  async #dropped(event) {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    await this.queue?.add(await filesIn(event.dataTransfer));
  }

  /** @param {Queue} queue */
  show(queue) {
    const { total, ended, failed, left } = counted(queue.entries);
    this.#progress.hidden = total === 0;
    this.#count.textContent = `${ended} of ${total}`;
    Object.assign(this.#bar, { max: Math.max(total, 1), value: ended });
    const says = standing(queue);
    if (this.#status.textContent !== says) this.#status.textContent = says;
    this.#hold.textContent = queue.paused ? "Go on" : "Pause";
    this.#hold.hidden = left === 0;
    this.#again.hidden = failed === 0;
    this.#clear.hidden = left > 0 || total === 0;
    this.#next.hidden = left > 0 || ended === 0;
    this.#next.setAttribute("href", this.dataset.next ?? "/photos/");
    this.#lists.replaceChildren(...this.#piles(queue.entries));
  }

  /** What needs looking at first, what waits last. @param {readonly Entry[]} entries */
  #piles(entries) {
    const words = /** @type {[string, string][]} */ (JSON.parse(this.dataset.how ?? "[]"));
    const ends = entries.filter((entry) => entry.state === "ended").flatMap((entry) => entry.ends);
    const not = (/** @type {Entry} */ { name, says }) => ({ name, says, address: "" });
    const piles = [
      ["Not sent", entries.filter((entry) => entry.state === "failed").map(not)],
      ...words.map(([how, title]) => [title, ends.filter((one) => one.how === how)]),
      ["Being sent", entries.filter((entry) => entry.state === "sending").map(not)],
      ["Waiting", entries.filter((entry) => entry.state === "waiting").map(not)],
    ];
    return piles.filter(([, pile]) => pile.length).map(([title, pile]) => listed(/** @type {string} */ (title),
      /** @type {any} */ (pile)));
  }
}

/** @param {string} title @param {{name: string, says: string, address: string}[]} pile */
function listed(title, pile) {
  const line = (/** @type {{name: string, says: string, address: string}} */ { name, says, address }) =>
    made("li", {}, address ? made("a", { href: address }, name) : made("b", {}, name), " ", made("span",
      { class: "small" }, says));
  const heading = made("h2", {}, `${title} `, made("span", { class: "small" }, String(pile.length)));
  return made("section", {}, heading, made("ul", { class: "roll" }, ...pile.map(line)));
}

class UploadStatus extends OfTheQueue {
  #words = made("a");
  #line = made("p", { role: "status", class: "standing" }, this.#words);
  /** Nothing is said of what had ended before this page was opened. */
  #busy = false;

  begin() {
    this.shadowRoot?.replaceChildren(this.#line);
  }

  /** @param {Queue} queue */
  show(queue) {
    const { total, ended, failed, left } = counted(queue.entries);
    this.#busy ||= left > 0;
    const told = document.querySelector("upload-queue") !== null;
    this.#line.hidden = told || (!this.#busy && failed === 0);
    const more = failed ? `, ${failed} could not be` : queue.paused && left ? ", paused" : "";
    this.#words.textContent = `${ended} of ${total} ${total === 1 ? "photo" : "photos"} sent${more}`;
    this.#words.setAttribute("href", this.dataset.page ?? "/photos/add");
  }
}

customElements.define("upload-queue", UploadQueue);
customElements.define("upload-status", UploadStatus);
