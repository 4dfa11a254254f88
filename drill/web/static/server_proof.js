// @ts-check
// The keys of this page, and the proofs by which page and server recognise each other: both know
// the page key, and neither sends it (HMAC-SHA256, see drill/web/page_key.py).

const STORED_KEY = "faintcall-key";

/** Role in a proof. */
export const SERVER = "server";
export const PAGE = "page";

/**
 * Keep the key that the page of the printed address brings along, and hide the address's token.
 * The storage belongs to this address and port alone, unlike a cookie.
 */
export function takeRequestKey() {
  const meta = /** @type {HTMLMetaElement|null} */ (document.querySelector("[name=faintcall-key]"));
  if (!meta) return;
  storeRequestKey(meta.content);
  meta.remove();
  history.replaceState(null, "", "/");
}

/** Return the key that every request carries, "" if there is none. */
export function requestKey() {
  return localStorage.getItem(STORED_KEY) ?? "";
}

/** @param {string} key */
export function storeRequestKey(key) {
  localStorage.setItem(STORED_KEY, key);
}

/** Return a random nonce of 32 hexadecimal digits. */
export function newNonce() {
  return toHex(crypto.getRandomValues(new Uint8Array(16)));
}

/**
 * Return the proof of knowing the page key.
 * @param {string} pageKey
 * @param {string} role SERVER or PAGE
 * @param {string} pageNonce
 * @param {string} serverNonce
 */
export async function proof(pageKey, role, pageNonce, serverNonce) {
  const encoder = new TextEncoder();
  const algorithm = { name: "HMAC", hash: "SHA-256" };
  const key = await crypto.subtle.importKey(
    "raw", encoder.encode(pageKey), algorithm, false, ["sign"],
  );
  const message = `faintcall ${role} ${location.port || "80"} ${pageNonce} ${serverNonce}`;
  return toHex(new Uint8Array(await crypto.subtle.sign("HMAC", key, encoder.encode(message))));
}

/** @param {Uint8Array} bytes */
function toHex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
