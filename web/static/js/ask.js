// Sending a form to our own server and reading its answer, whatever becomes of it.

/**
 * What came of it. `status` 0: no answer at all. `says`: words for a person, empty where all went well and nothing
 * needs saying. `body`: what the server told, if it told JSON.
 * @typedef {{ok: boolean, status: number, says: string, body: any}} Answer
 */

const NO_ANSWER = "Teachest does not answer. Is it still running on this machine?";
const TOO_MUCH = "That is more than one sending may hold.";

/**
 * @param {string} address
 * @param {Record<string, string | number | null> | FormData} fields  a null is not sent
 * @param {{signal?: AbortSignal, keepalive?: boolean}} [more]
 * @returns {Promise<Answer>}
 */
export async function send(address, fields, more = {}) {
  const body = fields instanceof FormData ? fields : new URLSearchParams(said(fields));
  try {
    const answer = await fetch(address, {
      method: "POST",
      body,
      headers: { Accept: "application/json" },
      credentials: "same-origin",
      redirect: "error",
      ...more,
    });
    return await read(answer);
  } catch {
    return { ok: false, status: 0, says: NO_ANSWER, body: null };
  }
}

/**
 * @param {Response} answer
 * @returns {Promise<Answer>}
 */
async function read(answer) {
  const told = answer.headers.get("Content-Type")?.startsWith("application/json");
  const body = told ? await answer.json() : null;
  const { ok, status } = answer;
  const words = [body?.says, body?.next].filter(Boolean).join(" ");
  if (ok && !told) return { ok: false, status, says: "The answer could not be read.", body };
  return { ok, status, says: words || (ok ? "" : status === 413 ? TOO_MUCH : `It was not done (answer ${status}).`),
    body };
}

/**
 * @param {Record<string, string | number | null>} fields
 * @returns {[string, string][]}
 */
function said(fields) {
  return Object.entries(fields).flatMap(([name, value]) => (value === null ? [] : [[name, String(value)]]));
}
