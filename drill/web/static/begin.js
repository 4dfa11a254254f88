// @ts-check
// Pages with a drill: choose and begin, or go on; then the drill; then its result.
import { get, post } from "./api.js";
import { cautioned } from "./caution.js";
import { chart, el, folded, paragraphs } from "./figures.js";
import { check, filled, numberIn, wrong } from "./forms.js";
import { forget } from "./heard.js";
import { prepared } from "./prefs.js";
import { say } from "./say.js";
import { Drill } from "./sitting.js";
import { Player } from "./sound.js";

/** The page on which a kind of sitting goes on. */
export const PLACES = /** @type {Record<string, string>} */ ({
  practice: "/practise", training: "/practise", measuring: "/measure", quick: "/measure",
  comparing: "/compare",
});
const NAMES = /** @type {Record<string, string>} */ ({
  practice: "Practice", training: "Training", measuring: "Measuring block", quick: "Quick check",
  comparing: "Comparison",
});
const LISTS = /** @type {Record<string, string>} */ ({
  part: "parts", exchange: "exchanges", set: "conditions", mix: "mixes", fading: "fading",
  filter: "receivers", processing: "processing",
});
const VALUES = ["first", "second", "third"];
const OPEN_LISTS = ["fading", "filter", "processing"];

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));

/** Return what an open sitting is, in a line. @param {any} state */
export function described(state) {
  const name = NAMES[state.kind] ?? state.kind;
  return `${name}, item ${state.number + 1} of ${state.count}: ${state.sentence}`;
}

/** One page with a form, a drill and a result. */
class Place {
  #player = new Player();
  #drill = new Drill(this.#player, (state) => this.#end(state));
  /** @type {any} */ #state = null;
  /** @type {any} */ #choices = null;
  /** @type {any} what the present sitting was begun with, here */ #asked = null;
  #beginning = false;

  async open() {
    const [choices, values] = await Promise.all([get("/api/choices"), prepared(this.#player)]);
    this.#choices = choices;
    this.#drill.autoNextS = values.auto_next_s;
    this.#offer(choices, values);
    this.#loud(values.volume);
    const form = $("choices");
    form.addEventListener("change", () => this.#switched());
    form.addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      if (check(form, $("problem"))) this.#begin(this.#body());
    });
    $("same").addEventListener("click", () => this.#begin(this.#asked));
    $("anew").addEventListener("click", () => this.#choose());
    $("go-on").addEventListener("click", () => this.#enter(this.#state));
    const go = new URLSearchParams(location.search).get("go");
    if (go) await this.#enter(await get(`/api/sittings/${encodeURIComponent(go)}`));
    else await this.#opened();
    // Enter in the first field begins, unless the user is somewhere already.
    if (!go && document.activeElement === document.body) this.#first()?.focus();
  }

  /** @returns {HTMLElement|null} */
  #first() {
    return $("choices").querySelector("input:checked, input[type=number], select");
  }

  /** @param {any} choices @param {any} values */
  #offer(choices, values) {
    const kind = this.#kind();
    const begun = {
      ...choices.defaults, count: choices.counts[kind], ...(values[`last_${kind}`] ?? {}),
    };
    for (const [id, list] of Object.entries(LISTS)) {
      if (!$(id)) continue;
      const name = id === "set" ? "conditions" : id;
      const open = OPEN_LISTS.includes(id) ? [{ name: "", says: "" }] : [];
      filled($(id), [...open, ...choices[list]], begun[name] ?? "");
    }
    filled($("voices"), [{ name: "", says: "" }, ...choices.voices.operators],
      begun.voices?.length === 1 ? begun.voices[0] : "", "any of them");
    for (const id of ["count", "snr_db", "pace"]) {
      if ($(id) && (id !== "count" || $(id).required) && begun[id] != null) $(id).value = String(begun[id]);
    }
    if ($("thing")) {
      filled($("thing"), choices.compare, "fading");
      this.#compared();
      $("thing").addEventListener("change", () => this.#compared());
    }
    this.#switched();
  }

  #compared() {
    const thing = this.#choices.compare.find((/** @type {any} */ one) =>
      one.name === $("thing").value);
    filled($("first"), thing.values, thing.values[0]?.name);
    filled($("second"), thing.values, thing.values[1]?.name);
    filled($("third"), [{ name: "", says: "" }, ...thing.values], "", "none");
  }

  #kind() {
    return String(new FormData($("choices")).get("kind") ?? "comparing");
  }

  /** Show the fields that go with what is chosen. */
  #switched() {
    const chosen = [this.#kind(), $("thing")?.value];
    for (const field of document.querySelectorAll("[data-when]")) {
      const when = field.getAttribute("data-when") ?? "";
      const hidden = when.startsWith("!") ? chosen.includes(when.slice(1)) : !chosen.includes(when);
      /** @type {HTMLElement} */ (field).hidden = hidden;
    }
  }

  #body() {
    const kind = this.#kind();
    const body = /** @type {Record<string, any>} */ ({ kind });
    const inputs = $("choices").querySelectorAll("select, input[type=number]");
    for (const field of inputs) {
      if (field.closest("[hidden]") || [...VALUES, "thing"].includes(field.id)) continue;
      const name = field.id === "set" ? "conditions" : field.name;
      const value = field.type === "number" ? numberIn(field) : field.value || null;
      if (value !== null) body[name] = name === "voices" ? [value] : value;
      else if (name === "snr_db") body.snr_db = null;
    }
    // Watts stand in place of an SNR; without them there is no path to name.
    delete body[body.watts === undefined ? "path_snr_db" : "snr_db"];
    if ($("thing")) {
      body.compare = { thing: $("thing").value, values: VALUES.map((id) => $(id).value).filter(Boolean) };
    }
    return body;
  }

  /** @param {any} body */
  async #begin(body) {
    if (this.#beginning) return; // a second Enter while the first is on its way
    this.#beginning = true;
    this.#player.unlock();
    try {
      // Another of the same is of other calls.
      const { seed: _, ...asked } = body;
      this.#asked = asked;
      await this.#enter(await post("/api/sittings", body));
    } catch (error) {
      this.#choose();
      const { message, field } = /** @type {any} */ (error);
      wrong($("problem"), message, field ? $(field) : null);
    } finally {
      this.#beginning = false;
    }
  }

  /** @param {any} state */
  async #enter(state) {
    this.#state = state;
    this.#part("caution");
    await cautioned();
    history.replaceState(null, "", `?go=${state.id}`);
    if (!state.finished) this.#part("drill");
    this.#drill.open(state);
  }

  /** Show one of the parts of the page. @param {"choices"|"caution"|"drill"|"result"} part */
  #part(part) {
    $("choices").hidden = part !== "choices";
    $("open").hidden = part !== "choices" || !$("open-list").children.length;
    $("about").hidden = part !== "choices";
    $("conditions").hidden = part !== "drill";
    $("drill").hidden = part !== "drill";
    $("loud").hidden = part !== "drill";
    $("result").hidden = part !== "result";
    if (part !== "drill") $("verdict").hidden = true;
  }

  async #choose() {
    history.replaceState(null, "", location.pathname);
    this.#part("choices");
    await this.#opened();
    this.#first()?.focus();
  }

  async #opened() {
    const { open } = await get("/api/sittings");
    const here = open.filter((/** @type {any} */ one) => PLACES[one.kind] === location.pathname);
    $("open-list").replaceChildren(...here.map((/** @type {any} */ one) =>
      el("li", {}, el("a", { href: `?go=${one.id}` }, described(one)))));
    $("open").hidden = !here.length;
  }

  /** Show what a sitting tells, finished or left. @param {any} state */
  async #end(state) {
    this.#state = state;
    this.#part("result");
    $("copied").hidden = true;
    $("result-title").textContent = state.finished ? "Result" : "Stopped: your answers are kept";
    $("go-on").hidden = state.finished;
    $("same").hidden = !this.#asked;
    $("same").classList.toggle("primary", state.finished);
    $("answers").href = `/history?of=${state.id}`;
    $("told").replaceChildren();
    $("result-title").focus();
    if (state.finished) forget(state.id);
    try {
      const { sections } = await get(`/api/sittings/${state.id}/result`);
      $("told").replaceChildren(...sections.flatMap((/** @type {any} */ part) => [
        ...(part.title ? [el("h3", {}, part.title)] : []),
        ...paragraphs(part.sentences),
        ...part.charts.map((/** @type {any} */ one) => chart(one, "Chart")),
        ...part.tables.map((/** @type {any} */ one) => folded(one)),
      ]));
    } catch (error) {
      say(/** @type {Error} */ (error).message);
    }
  }

  /** @param {number} volume */
  #loud(volume) {
    $("volume").value = String(volume);
    $("volume").addEventListener("input", () => { this.#player.volume = $("volume").value; });
    $("volume").addEventListener("change", () => {
      post("/api/settings", { values: { volume: Number($("volume").value) } })
        .catch((error) => say(error.message));
    });
    $("silence").addEventListener("click", () => {
      this.#player.stop();
      $("copy").focus();
    });
  }
}

if (document.getElementById("drill")) {
  new Place().open().catch((error) => wrong($("problem"), error.message, null));
}
