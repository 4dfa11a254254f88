// @ts-check
// The caution before the very first sound (_caution.html).
import { get, post } from "./api.js";
import { byId } from "./elements.js";

/**
 * Resolve once the user has confirmed the caution; it is shown if that has never happened. Returns
 * whether it was shown. Throws FaintcallError.
 */
export async function cautionConfirmed() {
  if ((await get("/api/cautions")).hearing) return false;
  const focusBefore = /** @type {HTMLElement|null} */ (document.activeElement);
  byId("caution").hidden = false;
  byId("caution-title").focus();
  await new Promise((resolve) =>
    byId("confirm-caution").addEventListener("click", resolve, { once: true }));
  await post("/api/cautions", { hearing: true });
  focusBefore?.focus();
  byId("caution").hidden = true;
  return true;
}
