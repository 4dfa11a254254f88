// @ts-check
// The budget of a path: a form, and what arrives at both ends.
import { post } from "./api.js";
import { paragraphs, table } from "./figures.js";
import { check, numberIn, wrong } from "./forms.js";
import { say } from "./say.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const form = /** @type {HTMLFormElement} */ ($("budget"));
/** Radio buttons, and the mark of the fields that each of them shows. */
const SWITCHES = { path: "data-for", wire: "data-wire", feed: "data-feed" };

function switched() {
  const data = new FormData(form);
  for (const [name, mark] of Object.entries(SWITCHES)) {
    for (const field of form.querySelectorAll(`[${mark}]`)) {
      /** @type {HTMLElement} */ (field).hidden = field.getAttribute(mark) !== data.get(name);
    }
  }
}

/** Return what is in sight or folded away, as the server takes it. */
function values() {
  const found = /** @type {Record<string, any>} */ ({});
  for (const input of form.querySelectorAll("input[type=number], input[type=text], select")) {
    const field = /** @type {HTMLInputElement} */ (input);
    if (field.closest("[hidden]")) continue;
    const value = field.type === "number" ? numberIn(field) : field.value.trim();
    if (value !== null) found[field.name] = value;
  }
  return found;
}

form.addEventListener("change", switched);
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!check(form, $("problem"))) return;
  try {
    const answer = await post("/api/budget", values());
    $("answer").replaceChildren(...answer.tables.map(table),
      ...paragraphs(answer.sentences.slice(1)));
    $("result").hidden = false;
    say(answer.sentences[0]);
  } catch (error) {
    const { message, field } = /** @type {any} */ (error);
    wrong($("problem"), message, field ? $(field) : null);
  }
});
switched();
