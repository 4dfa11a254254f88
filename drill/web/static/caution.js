// @ts-check
// The caution before the very first sound (_caution.html).
import { get, post } from "./api.js";
import { byId } from "./elements.js";

/** A press this soon after the caution appeared was meant for something else. */
const UNREAD_MS = 400;

/**
 * Resolve once the user has confirmed the caution; it is shown if that has never happened. Returns
 * whether it was shown. Throws FaintcallError.
 */
export async function cautionConfirmed() {
  if ((await get("/api/cautions")).hearing) return false;
  const focusBefore = /** @type {HTMLElement|null} */ (document.activeElement);
  byId("caution").hidden = false;
  const button = byId("confirm-caution"), shownAt = performance.now();
  button.focus(); // it is described by the caution, so a screen reader reads both
  await new Promise((resolve) => {
    button.addEventListener("click", () => {
      if (performance.now() - shownAt > UNREAD_MS) resolve(undefined);
    });
  });
  await post("/api/cautions", { hearing: true });
  focusBefore?.focus();
  byId("caution").hidden = true;
  return true;
}
