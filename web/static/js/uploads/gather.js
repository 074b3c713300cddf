// The files in what was dropped or chosen, out of folders too.

/**
 * @param {DataTransfer} dropped
 * @returns {Promise<File[]>}
 */
export async function filesIn(dropped) {
  const entries = [...dropped.items].map((item) => item.webkitGetAsEntry?.()).filter((entry) => entry != null);
  const found = entries.length ? (await Promise.all(entries.map(walked))).flat() : [...dropped.files];
  return worthSending(found);
}

/** What systems leave in folders on their own account is nobody's photo. @param {Iterable<File>} files */
export function worthSending(files) {
  return [...files].filter((file) => !file.name.startsWith(".") && !["Thumbs.db", "desktop.ini"].includes(file.name));
}

/**
 * @param {FileSystemEntry} entry
 * @returns {Promise<File[]>}
 */
async function walked(entry) {
  if (entry.isFile) {
    const one = await new Promise((done) => /** @type {FileSystemFileEntry} */ (entry).file(done, () => done(null)));
    return one ? [one] : [];
  }
  const reader = /** @type {FileSystemDirectoryEntry} */ (entry).createReader();
  /** @type {FileSystemEntry[]} */
  const inside = [];
  // A browser tells a folder a hundred entries at a time.
  for (;;) {
    const more = await new Promise((done) => reader.readEntries(done, () => done([])));
    if (!more.length) break;
    inside.push(...more);
  }
  return (await Promise.all(inside.map(walked))).flat();
}
