// @ts-check
// What costs the trainee most, after a session of practice: examples to hear, and a button.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { element } from "./elements.js";

/**
 * @typedef {{noise: string, clean: string, start_s: number, end_s: number}} Example
 * @typedef {{name: string, says: string, example: Example}} Label
 */

/**
 * Return the section, or null if nothing is known to cost more than the rest.
 * @param {import("./player.js").Player} player
 * @param {() => void} practise begins a session on these labels
 */
export async function costliestSection(player, practise) {
  /** @type {{labels: Label[]}} */
  const { labels } = await get("/api/costliest");
  if (!labels.length) return null;
  const button = element("button", { type: "button", class: "primary" }, "Practise these");
  button.addEventListener("click", practise);
  return element("section", { "aria-labelledby": "costliest-title" },
    element("h3", { id: "costliest-title" }, "What cost you most"),
    element("ol", { class: "costliest" }, ...labels.map((label) => entry(label, player))),
    element("p", { class: "buttons" }, button));
}

/** @param {Label} label @param {import("./player.js").Player} player */
function entry({ name, says, example }, player) {
  return element("li", {}, element("strong", {}, name), element("p", {}, says),
    element("p", { class: "buttons" },
      playButton("Clean", name, example.clean, example, player),
      playButton("In noise", name, example.noise, example, player)));
}

/**
 * @param {string} text
 * @param {string} name
 * @param {string} url
 * @param {Example} example
 * @param {import("./player.js").Player} player
 */
function playButton(text, name, url, example, player) {
  const button = element("button", { type: "button", "aria-label": `${name}: ${text}` }, text);
  button.addEventListener("click", async () => {
    player.unlock();
    try {
      const part = { startS: example.start_s, endS: example.end_s };
      await player.play(await player.load(url), undefined, part);
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
  });
  return button;
}
