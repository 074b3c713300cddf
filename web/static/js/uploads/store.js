// The files that wait to be sent, kept by the browser itself: they outlive the page, the browser and the server.

/**
 * A file on its way. `waiting`: to be sent. `sending`: under way, or it was when a page was left. `ended`: the server
 * has told how. `failed`: nobody answered, or the server stumbled; it may be tried again.
 * @typedef {object} Entry
 * @property {string} id
 * @property {string} survey
 * @property {number} order
 * @property {string} name
 * @property {string} alike  the same for a file that is chosen twice
 * @property {number} modified  ms since 1970; 0 where it tells nothing
 * @property {"waiting" | "sending" | "ended" | "failed"} state
 * @property {Blob | null} file  null once it has ended, or when the browser had no room for it
 * @property {string} says
 * @property {Ended[]} ends  one; several for a zip file
 */
/** @typedef {{name: string, how: "added" | "already" | "refused" | "warned", says: string, address: string}} Ended */

const NAME = "teachest-uploads";
const TABLE = "files";

export class Store {
  /** Files that the browser had no room for: they last as long as this page. @type {Map<string, Blob>} */
  #here = new Map();
  /** What is kept where the browser keeps nothing. @type {Map<string, Entry>} */
  #unkept = new Map();
  /** @type {Promise<IDBDatabase | null>} */
  #base = opened();

  /** @param {string} survey */
  constructor(survey) {
    this.survey = survey;
  }

  /** Everything of this survey, in the order it was chosen. @returns {Promise<Entry[]>} */
  async all() {
    const kept = (await this.#run("readonly", (table) => table.index("survey").getAll(this.survey))) ??
      [...this.#unkept.values()];
    return kept.sort((/** @type {Entry} */ one, /** @type {Entry} */ other) => one.order - other.order);
  }

  /**
   * Write a new one down with its file, which from then on is the browser's own copy: the one that was chosen may lie
   * on a phone that is unplugged. False where the file could not be kept beyond this page.
   * @param {Entry} entry
   */
  async add(entry) {
    const kept = await this.put(entry);
    if (kept) entry.file = (await this.#run("readonly", (table) => table.get(entry.id)))?.file ?? entry.file;
    return kept;
  }

  /** Write one down; false where its file could not be kept beyond this page. @param {Entry} entry */
  async put(entry) {
    if (entry.state === "ended") this.#here.delete(entry.id);
    if (!(await this.#base)) this.#unkept.set(entry.id, entry);
    try {
      await this.#run("readwrite", (table) => table.put(this.#here.has(entry.id) ? { ...entry, file: null } : entry));
      return !this.#unkept.size;
    } catch {
      if (entry.file) this.#here.set(entry.id, entry.file);
      await this.#run("readwrite", (table) => table.put({ ...entry, file: null }));
      return false;
    }
  }

  /** The file itself, wherever it is kept. @param {Entry} entry */
  file(entry) {
    return entry.file ?? this.#here.get(entry.id) ?? null;
  }

  /** @param {readonly Entry[]} entries */
  async drop(entries) {
    for (const { id } of entries) {
      this.#unkept.delete(id);
      this.#here.delete(id);
      await this.#run("readwrite", (table) => table.delete(id));
    }
  }

  /**
   * @param {IDBTransactionMode} mode
   * @param {(table: IDBObjectStore) => IDBRequest} act
   * @returns {Promise<any>}
   */
  async #run(mode, act) {
    const base = await this.#base;
    if (!base) return undefined;
    return new Promise((done, failed) => {
      const turn = base.transaction(TABLE, mode);
      const asked = act(turn.objectStore(TABLE));
      turn.oncomplete = () => done(asked.result);
      turn.onerror = turn.onabort = () => failed(turn.error);
    });
  }
}

/** @returns {Promise<IDBDatabase | null>} */
function opened() {
  return new Promise((done) => {
    try {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore(TABLE, { keyPath: "id" }).createIndex("survey", "survey");
      };
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => done(null);
    } catch {
      done(null);
    }
  });
}
