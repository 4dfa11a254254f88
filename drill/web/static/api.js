// @ts-check
// Requests to the server. If it is not running, the page says so, waits, and repeats the request.
import { announce } from "./announce.js";

const NO_ANSWER =
  "faintcall is not responding. Your answers are saved. Start it again and this page continues.";
const RECONNECTED = "faintcall is responding again.";
const EARLIER_RUN =
  "This page belongs to an earlier run. Open the address shown in the terminal.";
const RETRY_MS = 1000;

/** An error whose message is shown to the user, from the server or about this computer. */
export class FaintcallError extends Error {
  /**
   * @param {string} message
   * @param {{status?: number, field?: string, state?: any}} details status: HTTP status, 0 if the
   *   error is not the server's; field: name of the wrong form entry; state: of the session, if
   *   the answer conflicts with it
   */
  constructor(message, { status = 0, field = "", state } = {}) {
    super(message);
    this.name = "FaintcallError";
    this.status = status;
    this.field = field;
    this.state = state;
  }
}

/**
 * Return the JSON at an address. Waits while the server is not running. Throws FaintcallError.
 * @param {string} path
 * @returns {Promise<any>}
 */
export async function get(path) {
  return (await request(path)).json();
}

/**
 * Post JSON and return the JSON response. Waits while the server is not running, then repeats the
 * request: a second answer to the same item is refused with 409. Throws FaintcallError.
 * @param {string} path
 * @param {any} body
 * @returns {Promise<any>}
 */
export async function post(path, body) {
  return (await request(path, jsonPost(body))).json();
}

/**
 * Post audio and return the JSON response. Waits while the server is not running. Throws
 * FaintcallError.
 * @param {string} path
 * @param {ArrayBuffer} body a WAV or FLAC file
 * @param {string} type its media type
 * @returns {Promise<any>}
 */
export async function postAudio(path, body, type) {
  const headers = { "content-type": type };
  return (await request(path, { method: "POST", headers, body })).json();
}

/**
 * Return the bytes of a sound. Waits while the server is not running. Throws FaintcallError.
 * @param {string} path
 */
export async function getBytes(path) {
  return (await request(path)).arrayBuffer();
}

/** @param {any} body @returns {RequestInit} */
function jsonPost(body) {
  const headers = { "content-type": "application/json" };
  return { method: "POST", headers, body: JSON.stringify(body) };
}

/** @param {string} path @param {RequestInit} [init] */
async function request(path, init) {
  let reconnected = false;
  for (;;) {
    const response = await fetchOrNull(path, init);
    if (response?.ok) return response;
    if (response && (response.status !== 403 || reconnected)) throw await errorFrom(response);
    // No server, or one that was restarted and does not know this page's cookie.
    await reconnect();
    reconnected = true;
  }
}

/**
 * Return the response, null if no server answers.
 * @param {string} path
 * @param {RequestInit} [init]
 */
async function fetchOrNull(path, init) {
  try {
    return await fetch(path, init);
  } catch {
    return null;
  }
}

/** @param {Response} response */
async function errorFrom(response) {
  let body = /** @type {any} */ ({});
  try {
    body = await response.json();
  } catch {
    // Without JSON, only the status is known.
  }
  const { error = `The request failed with status ${response.status}.`, field, state } = body;
  return new FaintcallError(error, { status: response.status, field, state });
}

/** @type {Promise<void>|null} */
let reconnecting = null;

/** Wait until the server runs and accepts this page. Throws FaintcallError if it never will. */
function reconnect() {
  reconnecting ??= renewCookie().finally(() => { reconnecting = null; });
  return reconnecting;
}

async function renewCookie() {
  const token = /** @type {HTMLMetaElement} */ (document.querySelector("[name=faintcall-token]"));
  let problemShown = false;
  for (;;) {
    const response = await fetchOrNull("/api/again", jsonPost({ token: token.content }));
    if (response?.ok) {
      token.content = (await response.json()).token;
      if (problemShown) showConnection("", RECONNECTED);
      return;
    }
    if (response && response.status === 403) {
      showConnection(EARLIER_RUN, EARLIER_RUN);
      throw new FaintcallError(EARLIER_RUN, { status: 403 });
    }
    if (!problemShown) showConnection(NO_ANSWER, NO_ANSWER);
    problemShown = true;
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  }
}

/** @param {string} problem shown at the top of the page, "" to hide it @param {string} message */
function showConnection(problem, message) {
  const banner = document.getElementById("connection-problem");
  if (banner) {
    banner.textContent = problem;
    banner.hidden = !problem;
  }
  announce(message, { shownElsewhere: Boolean(banner && problem) });
}
