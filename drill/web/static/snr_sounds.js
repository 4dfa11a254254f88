// @ts-check
// Explains an SNR by ear: the same over strong, readable and at the edge, through the radio path.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { byId, element } from "./elements.js";

/** Options of the form that change how the over sounds. */
const HEARD = ["conditions", "fading", "filter", "processing", "off_frequency_hz", "static_db"];
/** The over that is heard at every strength; its call is nobody's. */
const OVER = { seed: 7, mix: "unassigned", without: [] };

/** @param {number} db */
const decibels = (db) => `${db > 0 ? "+" : ""}${db} dB`;

/**
 * Offer the sounds below the field of the SNR.
 * @param {import("./player.js").Player} player
 * @param {() => Record<string, any>} values returns the options of the form
 */
export async function offerSnrSounds(player, values) {
  const { examples } = await get("/api/snr-examples");
  const play = async (/** @type {number} */ snrDb, /** @type {string} */ says) => {
    player.unlock();
    player.stop();
    const all = values();
    const chosen = Object.fromEntries(HEARD.map((name) => [name, all[name] ?? null]));
    await cautionConfirmed();
    const { sounds } = await post("/api/listen", { ...chosen, ...OVER, snr_db: snrDb });
    if (await player.play(await player.load(sounds[0].url))) {
      byId("snr-says").textContent = says;
      announce(says, { shownElsewhere: true });
    }
  };
  /** @param {string} label @param {() => Promise<void>} act */
  const button = (label, act) => {
    const result = element("button", { type: "button", class: "play" }, label);
    result.addEventListener("click", () => {
      act().catch((error) => announce(error.message));
    });
    return result;
  };
  byId("snr-buttons").replaceChildren(
    ...examples.map((/** @type {any} */ { label, snr_db: snrDb, says }) =>
      button(`${label}, ${decibels(snrDb)}`, () => play(snrDb, `${decibels(snrDb)}: ${says}`))),
    button("as entered", () => {
      const snrDb = Number(byId("snr_db").value);
      return play(snrDb, `That was ${decibels(snrDb)}.`);
    }));
}
