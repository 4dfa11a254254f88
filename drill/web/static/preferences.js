// @ts-check
// The user's settings, applied to a page and its player.
import { get } from "./api.js";

/** @typedef {import("./player.js").Player} Player */

/**
 * Fetch all settings, apply them and return them. Throws FaintcallError.
 * @param {Player} player
 */
export async function loadPreferences(player) {
  const { values } = await get("/api/settings");
  applyPreferences(values, player);
  return values;
}

/** Apply settings to this page and its player. @param {any} values @param {Player} player */
export function applyPreferences(values, player) {
  player.volume = values.volume;
  player.side = values.speech_side;
  player.quietMs = 1000 * values.speech_gap_s;
  document.documentElement.dataset.scheme = values.scheme;
}
