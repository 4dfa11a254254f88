// @ts-check
// Asking the program. Where it is gone, the page says so, waits, and asks again when it is back.
import { say } from "./say.js";

const GONE = "The program does not answer. Your answers are kept. Start it again; this page goes on.";
const BACK = "The program is back.";
const CLOSED = "This page is of an earlier start of the program. Open the address that it printed.";
const AGAIN_MS = 1000;

/** What the program, or the machine, refuses; the message is for the user. */
export class Lack extends Error {
  /**
   * @param {string} message
   * @param {{status?: number, field?: string, state?: any}} more
   */
  constructor(message, { status = 0, field, state } = {}) {
    super(message);
    this.name = "Lack";
    this.status = status;
    this.field = field;
    this.state = state;
  }
}

/**
 * Return what an address answers. Waits while the program is gone. Throws Lack.
 * @param {string} path
 * @returns {Promise<any>}
 */
export async function get(path) {
  return (await asked(path)).json();
}

/**
 * Send something and return the answer. Waits while the program is gone; what was sent is sent
 * again then, and an item that has its answer already is refused with 409. Throws Lack.
 * @param {string} path
 * @param {any} body
 * @returns {Promise<any>}
 */
export async function post(path, body) {
  return (await asked(path, sending(body))).json();
}

/**
 * Send a sound and return the answer. Waits while the program is gone. Throws Lack.
 * @param {string} path
 * @param {ArrayBuffer} body a WAV or FLAC file
 * @param {string} kind its media type
 * @returns {Promise<any>}
 */
export async function send(path, body, kind) {
  return (await asked(path, { method: "POST", headers: { "content-type": kind }, body })).json();
}

/**
 * Return the bytes of a sound. Waits while the program is gone. Throws Lack.
 * @param {string} path
 */
export async function bytes(path) {
  return (await asked(path)).arrayBuffer();
}

/** @param {any} body @returns {RequestInit} */
function sending(body) {
  const headers = { "content-type": "application/json" };
  return { method: "POST", headers, body: JSON.stringify(body) };
}

/** @param {string} path @param {RequestInit} [request] */
async function asked(path, request) {
  let admitted = false;
  for (;;) {
    const answer = await tried(path, request);
    if (answer?.ok) return answer;
    if (answer && (answer.status !== 403 || admitted)) throw await refused(answer);
    // Gone, or started again since: the cookie of this page is of the last start.
    await back();
    admitted = true;
  }
}

/** Return the answer, null where nobody answers. @param {string} path @param {RequestInit} [request] */
async function tried(path, request) {
  try {
    return await fetch(path, request);
  } catch {
    return null;
  }
}

/** @param {Response} answer */
async function refused(answer) {
  let told = /** @type {any} */ ({});
  try {
    told = await answer.json();
  } catch {
    // no JSON: the status has to do
  }
  const message = told.error ?? `The program refuses (${answer.status}).`;
  return new Lack(message, { status: answer.status, field: told.field, state: told.state });
}

/** @type {Promise<void>|null} */
let waiting = null;

/** Wait until the program is there and knows this page. Throws Lack where it never will. */
function back() {
  waiting ??= waited().finally(() => { waiting = null; });
  return waiting;
}

async function waited() {
  const token = /** @type {HTMLMetaElement} */ (document.querySelector("[name=faintcall-token]"));
  let told = false;
  for (;;) {
    const answer = await tried("/api/again", sending({ token: token.content }));
    if (answer?.ok) {
      token.content = (await answer.json()).token;
      if (told) show("", BACK);
      return;
    }
    if (answer && answer.status === 403) {
      show(CLOSED, CLOSED);
      throw new Lack(CLOSED, { status: 403 });
    }
    if (!told) show(GONE, GONE);
    told = true;
    await new Promise((done) => setTimeout(done, AGAIN_MS));
  }
}

/** @param {string} shown @param {string} said */
function show(shown, said) {
  const place = document.getElementById("lost");
  if (place) {
    place.textContent = shown;
    place.hidden = !shown;
  }
  say(said, { seen: Boolean(place && shown) });
}
