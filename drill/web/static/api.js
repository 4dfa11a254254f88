// @ts-check
// Requests to the server. If it is not running, the page says so, waits, and repeats the request.
// Content is sent only after the server has proved itself: when it is not running, another user's
// program can answer at its port.
import { announce } from "./announce.js";
import {
  PAGE, SERVER, newNonce, proof, requestKey, storeRequestKey, takeRequestKey,
} from "./server_proof.js";

const NO_ANSWER =
  "faintcall is not responding. Your answers are saved. Start it again and this page continues.";
const RECONNECTED = "faintcall is responding again.";
const EARLIER_RUN =
  "This page belongs to an earlier run. Open the address shown in the terminal.";
const RETRY_MS = 1000;

/** An error whose message, from the server or about this computer, is shown to the user. */
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
 * Post a file and return the JSON response. Waits while the server is not running. Throws
 * FaintcallError.
 * @param {string} path
 * @param {ArrayBuffer} body a sound, or an exported record
 * @param {string} type its media type
 * @returns {Promise<any>}
 */
export async function postFile(path, body, type) {
  const headers = { "content-type": type };
  return (await request(path, { method: "POST", headers, body })).json();
}

/**
 * Return the bytes of a file. Waits while the server is not running. Throws FaintcallError.
 * @param {string} path
 */
export async function getBytes(path) {
  return (await request(path)).arrayBuffer();
}

/** Wait until the server has proved itself. Throws FaintcallError if it refuses this page. */
export async function proveServer() {
  if (!(await challengeServer())) await reconnect();
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
    if (init) await proveServer();
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
  const headers = { ...init?.headers, "x-faintcall-key": requestKey() };
  try {
    return await fetch(path, { ...init, headers });
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
  let problemShown = false;
  for (;;) {
    const challenge = await challengeServer();
    if (challenge && await answerChallenge(challenge)) {
      if (problemShown) showConnection("", RECONNECTED);
      return;
    }
    if (!problemShown) showConnection(NO_ANSWER, NO_ANSWER);
    problemShown = true;
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  }
}

/** @typedef {{key: string, nonce: string, serverNonce: string}} Challenge */

/**
 * Return the challenge of a server that has proved itself, null if there is no such server.
 * @returns {Promise<Challenge|null>}
 */
async function challengeServer() {
  const key = await pageKey();
  if (!key) return null;
  const nonce = newNonce();
  const body = await jsonOrNull(await fetchOrNull("/api/again", jsonPost({ nonce })));
  if (typeof body?.nonce !== "string") return null;
  const expected = await proof(key, SERVER, nonce, body.nonce);
  return body.proof === expected ? { key, nonce, serverNonce: body.nonce } : null;
}

/** Return true if the server has accepted this page. @param {Challenge} challenge */
async function answerChallenge({ key, nonce, serverNonce }) {
  const own = await proof(key, PAGE, nonce, serverNonce);
  const answer = jsonPost({ nonce, server_nonce: serverNonce, proof: own });
  const body = await jsonOrNull(await fetchOrNull("/api/again", answer));
  if (typeof body?.key !== "string") return false;
  storeRequestKey(body.key);
  return true;
}

/** @type {string} */
let knownPageKey = "";

/** Return the page key, "" if no server gives it. Throws FaintcallError if one refuses it. */
async function pageKey() {
  if (knownPageKey) return knownPageKey;
  const response = await fetchOrNull("/api/page-key");
  if (response?.status === 403) {
    showConnection(EARLIER_RUN, EARLIER_RUN);
    throw new FaintcallError(EARLIER_RUN, { status: 403 });
  }
  const body = await jsonOrNull(response);
  if (typeof body?.key === "string") knownPageKey = body.key;
  return knownPageKey;
}

/** Return the data of a successful response, else null. @param {Response|null} response */
async function jsonOrNull(response) {
  if (!response?.ok) return null;
  try {
    return await response.json();
  } catch {
    return null;
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

takeRequestKey();
// Fetched at once: a page that knows it can continue after the program was restarted.
pageKey().catch(() => {});
