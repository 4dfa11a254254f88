// @ts-check
// The user's settings at work on a page.
import { get } from "./api.js";

/**
 * Get the settings and let them work on a player. Returns them all. Throws Lack.
 * @param {{volume: number, side: any}} player
 */
export async function prepared(player) {
  const { values } = await get("/api/settings");
  obey(values, player);
  return values;
}

/**
 * Let settings work on this page and its player.
 * @param {any} values
 * @param {{volume: number, side: any}} player
 */
export function obey(values, player) {
  player.volume = values.volume;
  player.side = values.speech_side;
  document.documentElement.dataset.scheme = values.scheme;
}
