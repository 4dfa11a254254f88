// @ts-check
// What costs the trainee most, after a session of practice, with examples to hear.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { element } from "./elements.js";
import { costPicture } from "./pictures.js";

/** Room above the highest interval in a picture of costs, in dB. */
const ROOM_DB = 0.5;

/**
 * @typedef {{noise: string, clean: string, words: string, word: number}} Example
 * @typedef {{
 *   sign: string, name: string, says: string, mistake: string,
 *   cost_db: [number, number, number], example: Example,
 * }} Label
 */

/**
 * Return the section about labels, at least one.
 * @param {Label[]} labels
 * @param {import("./player.js").Player} player
 */
export function costliestSection(labels, player) {
  const most = Math.max(...labels.map(({ cost_db: [, , high] }) => high)) + ROOM_DB;
  return element("section", { "aria-labelledby": "costliest-title" },
    element("h3", { id: "costliest-title", class: "section-title" }, "What cost you most"),
    element("ol", { class: "cost" },
      ...labels.map((label, index) => entry(label, player, most, !index))));
}

/**
 * @param {Label} label
 * @param {import("./player.js").Player} player
 * @param {number} most end of the scale in dB
 * @param {boolean} labelled whether the scale is labelled
 */
function entry({ sign, name, says, mistake, cost_db: cost, example }, player, most, labelled) {
  const words = element("p", {}, element("b", {}, name), mistake ? `, ${mistake}` : "",
    element("br"), element("span", { class: "hint" }, says));
  const kind = sign && sign.length < 4 ? "sign" : "sign words";
  return element("li", {},
    element("span", { class: kind, "aria-hidden": "true" }, sign.length < 4 ? sign : ""),
    words, costPicture(cost, most, labelled),
    element("div", { class: "row" },
      playButton("clean", name, example.clean, example, player),
      playButton("in noise", name, example.noise, example, player)));
}

/**
 * @param {string} text
 * @param {string} name
 * @param {string} url
 * @param {Example} example
 * @param {import("./player.js").Player} player
 */
function playButton(text, name, url, example, player) {
  const attributes = { type: "button", class: "play", "aria-label": `${name}: ${text}` };
  const button = element("button", attributes, text);
  button.addEventListener("click", async () => {
    player.unlock();
    try {
      const [sound, { words }] = await Promise.all([player.load(url), get(example.words)]);
      const { start_s: startS, end_s: endS } = words[example.word];
      await player.play(sound, undefined, { startS, endS });
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
  });
  return button;
}
