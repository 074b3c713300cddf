// Sends the waiting files one at a time. Whichever page of the survey is open does it, and never two at once.

import { send } from "../ask.js";
import { Store } from "./store.js";

/** @typedef {import("./store.js").Entry} Entry */
/** @typedef {{entries: Entry[], paused: boolean, silent: boolean, unkept: boolean}} Standing */

const FIRST_PAUSE_MS = 2_000;
const LONGEST_PAUSE_MS = 30_000;
/** A file that was written this shortly before it was chosen was written by the choosing. */
const JUST_WRITTEN_MS = 120_000;
const LEFT = "The page was left before this was sent, and the browser had no room to keep it. Choose it again.";
const GONE = "The file cannot be read any more. Choose it again.";
const TOO_LARGE = "It is larger than one sending may hold. Take it in with: teachest intake";
/** The server's refusals that no second try will change. */
const FINAL = [400, 404, 413, 415];
/** The server does not know this browser: it was started anew, and its new address has not been opened yet. */
const SHUT = 403;

export class Queue extends EventTarget {
  /** @type {Map<string, Queue>} */
  static #all = new Map();

  /** The one of that survey on this page. @param {string} survey @param {string} action where a file is sent */
  static of(survey, action) {
    const had = Queue.#all.get(survey) ?? new Queue(survey, action);
    Queue.#all.set(survey, had);
    return had;
  }

  /** @type {Entry[]} */
  entries = [];
  /** Whether the server gave no answer at all. */
  silent = false;
  /** Whether the server wants to be opened at its new address first. */
  shut = false;
  /** Whether the browser had no room, so that leaving the page loses files. */
  unkept = false;
  /** The largest file that the server takes. */
  most = Infinity;
  /** Whether this page waits for its turn or has it, and whether it has it. */
  #asking = false;
  #sending = false;
  /** Ids of files that are still being written down. @type {Set<string>} */
  #adding = new Set();
  #wake = () => {};

  /** @param {string} survey @param {string} action */
  constructor(survey, action) {
    super();
    this.action = action;
    this.store = new Store(survey);
    this.channel = new BroadcastChannel(`teachest-uploads-${survey}`);
    this.channel.onmessage = () => this.#heard();
    this.pauseKey = `teachest-uploads-paused-${survey}`;
    addEventListener("online", () => this.#wake());
    addEventListener("pageshow", () => this.#heard());
    this.ready = this.#heard();
  }

  get paused() {
    return localStorage.getItem(this.pauseKey) !== null;
  }

  /** @param {boolean} paused */
  pause(paused) {
    if (paused) localStorage.setItem(this.pauseKey, "yes");
    else localStorage.removeItem(this.pauseKey);
    this.#tell();
    this.#wake();
    this.#work();
  }

  /**
   * Take files in; what has ended before makes room, and a file that waits already is not taken twice.
   * @param {File[]} files
   */
  async add(files) {
    await this.ready;
    if (this.entries.every((entry) => entry.state === "ended")) await this.clear();
    const had = new Set(this.entries.filter((entry) => entry.state !== "ended").map((entry) => entry.alike));
    for (const file of files) {
      const entry = this.#entry(file);
      if (had.has(entry.alike)) continue;
      had.add(entry.alike);
      this.#adding.add(entry.id);
      this.entries.push(entry);
      if (file.size > this.most) await this.#refuse(entry, TOO_LARGE);
      else this.unkept = !(await this.store.add(entry)) || this.unkept;
      this.#adding.delete(entry.id);
      this.#tell();
      this.#work();
    }
  }

  /** Send again what failed. */
  async retry() {
    for (const entry of this.entries.filter((one) => one.state === "failed" && this.store.file(one))) {
      await this.#put(entry, { state: "waiting", says: "" });
    }
    this.#wake();
    this.#work();
  }

  /** Forget what has ended or failed. */
  async clear() {
    await this.store.drop(this.entries.filter((entry) => entry.state === "ended" || entry.state === "failed"));
    await this.#read();
    this.#tell();
  }

  /** @param {File} file @returns {Entry} */
  #entry(file) {
    const { name, size, lastModified } = file;
    const path = file.webkitRelativePath || name;
    return {
      id: crypto.randomUUID(),
      survey: this.store.survey,
      order: Math.max(0, ...this.entries.map((entry) => entry.order)) + 1,
      name: path,
      alike: `${path}|${size}|${lastModified}`,
      modified: Date.now() - lastModified > JUST_WRITTEN_MS ? lastModified : 0,
      state: "waiting",
      file,
      says: "",
      ends: [],
    };
  }

  /** Another page has changed something, or this one has come back. */
  async #heard() {
    if (!this.#sending) await this.#read();
    this.dispatchEvent(new Event("changed"));
    this.#wake();
    this.#work();
  }

  #tell() {
    this.channel.postMessage("changed");
    this.dispatchEvent(new Event("changed"));
  }

  /** @param {Entry} entry @param {Partial<Entry>} changes */
  async #put(entry, changes) {
    Object.assign(entry, changes);
    await this.store.put(entry);
    this.#tell();
  }

  /** Wait for this page's turn; the page that has it keeps it until nothing waits, or until it is closed. */
  async #work() {
    if (this.#asking || this.paused || !this.#left().length) return;
    this.#asking = true;
    try {
      await navigator.locks.request(`${this.pauseKey}-turn`, () => this.#sendAll());
    } finally {
      this.#asking = this.#sending = false;
    }
    this.#work();
  }

  async #sendAll() {
    this.#sending = true;
    await this.#catchUp();
    let pause = FIRST_PAUSE_MS;
    for (let entry = this.#next(); entry && !this.paused; entry = this.#next()) {
      const answered = await this.#send(entry);
      this.silent = !answered;
      this.#tell();
      if (answered) pause = FIRST_PAUSE_MS;
      else await this.#rest(pause);
      if (!answered) pause = Math.min(pause * 2, LONGEST_PAUSE_MS);
    }
  }

  /** What other pages did meanwhile. */
  async #read() {
    const kept = await this.store.all();
    const had = new Set(kept.map((entry) => entry.id));
    this.entries = [...kept, ...this.entries.filter((entry) => this.#adding.has(entry.id) && !had.has(entry.id))];
  }

  /** What a page that is gone left half done. */
  async #catchUp() {
    await this.#read();
    for (const entry of this.#left()) {
      if (this.store.file(entry)) entry.state = "waiting";
      else await this.#put(entry, { state: "failed", says: LEFT });
    }
  }

  /** What is to be sent and is written down. */
  #left() {
    return this.entries.filter((entry) => unsent(entry) && !this.#adding.has(entry.id));
  }

  #next() {
    return this.#left().find((entry) => entry.state === "waiting");
  }

  /** Send one and write down what became of it; false where the same is to be sent again. @param {Entry} entry */
  async #send(entry) {
    await this.#put(entry, { state: "sending" });
    const file = /** @type {Blob} */ (this.store.file(entry));
    if (!(await readable(file))) {
      await this.#put(entry, { state: "failed", says: GONE });
      return true;
    }
    const form = new FormData();
    form.append("photos", file, entry.name.split("/").at(-1));
    if (entry.modified) form.append("modified", String(entry.modified));
    const answer = await send(this.action, form);
    this.shut = answer.status === SHUT;
    if (answer.status === 0 || this.shut) await this.#put(entry, { state: "waiting", says: answer.says });
    else if (answer.ok) await this.#put(entry, { state: "ended", file: null, says: "", ends: answer.body.files });
    else if (FINAL.includes(answer.status)) await this.#refuse(entry, answer.says);
    else await this.#put(entry, { state: "failed", says: answer.says });
    return answer.status !== 0 && !this.shut;
  }

  /** @param {Entry} entry @param {string} says */
  #refuse(entry, says) {
    return this.#put(entry, { state: "ended", file: null, ends: [{ name: entry.name, how: "refused", says,
      address: "" }] });
  }

  /** @param {number} ms */
  #rest(ms) {
    return new Promise((done) => {
      const timer = setTimeout(done, ms);
      this.#wake = () => {
        clearTimeout(timer);
        done(undefined);
      };
    });
  }
}

/** @param {Entry} entry */
function unsent(entry) {
  return entry.state === "waiting" || entry.state === "sending";
}

/**
 * Whether a file is still there; a request that carries one that is not would look like a server that is not.
 * @param {Blob} file
 */
function readable(file) {
  return file.slice(0, 1).arrayBuffer().then(() => true, () => false);
}
