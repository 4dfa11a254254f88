// @ts-check
// The result of a session: first a figure, sentences and what Enter does; then the details.
import { announce, clearAnnouncements } from "./announce.js";
import { answersSection } from "./answers_heard.js";
import { get } from "./api.js";
import { costliestSection } from "./costliest.js";
import { byId, collapsibleTable, element, paragraphs } from "./elements.js";
import { drawPicture, lampString, rulerPicture, withMinus } from "./pictures.js";

/** Largest number of lamps on the wire. */
const MOST_LAMPS = 40;

/**
 * What the buttons do: continue the session, begin one on the costliest labels, another like it
 * (null if its options are not known), or choose other options.
 * @typedef {{
 *   proceed: () => void, practise: () => void, repeat: (() => void)|null, change: () => void,
 * }} Choices
 */

export class ResultView {
  #player;
  /** Number of the latest result; an older one shows nothing. */
  #turn = 0;
  /** @type {() => void} */ #go = () => {};
  /** @type {Choices|null} */ #choices = null;

  /** @param {import("./player.js").Player} player */
  constructor(player) {
    this.#player = player;
    byId("result-go").addEventListener("click", () => this.#go());
    byId("repeat").addEventListener("click", () => this.#choices?.repeat?.());
    byId("change-options").addEventListener("click", () => this.#choices?.change());
  }

  /**
   * Show the result of a session that is finished or was stopped.
   * @param {any} state of the session
   * @param {Choices} choices
   */
  async show(state, choices) {
    const turn = ++this.#turn;
    this.#choices = choices;
    clear(state, choices);
    clearAnnouncements(); // that of the last verdict
    byId("result-title").focus();
    const practice = state.finished && state.page === "/practise";
    const costliest = practice ? get("/api/costliest") : Promise.resolve({ labels: [] });
    costliest.catch(() => {}); // awaited below
    /** @type {any[]} */ let labels = [];
    try {
      const [result, { answers }] = await Promise.all([
        get(`/api/sessions/${state.id}/result`),
        state.finished ? get(`/api/history/${state.id}`) : { answers: [] },
      ]);
      if (turn !== this.#turn) return;
      showEnding(result);
      byId("result-content").replaceChildren(...details(result, answers, state, this.#player));
      ({ labels } = await costliest);
      if (turn !== this.#turn) return;
      if (labels.length) byId("result-content").prepend(costliestSection(labels, this.#player));
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
    if (turn === this.#turn) this.#offer(state, labels);
  }

  /** Show what Enter does. @param {any} state @param {any[]} labels that cost most */
  #offer(state, labels) {
    const { proceed, practise, repeat } = /** @type {Choices} */ (this.#choices);
    const [text, note, go] = !state.finished ? ["Continue", "", proceed]
      : labels.length ? ["Practise these", `About five minutes: ${names(labels)}, in new calls.`,
        practise]
        : repeat ? ["Start another like this", "", repeat]
          : ["Done", "", () => { location.href = "/"; }];
    this.#go = go;
    byId("result-go-text").textContent = text;
    byId("result-go-note").textContent = note;
    byId("repeat").hidden = !repeat || go === repeat;
    byId("result-go").hidden = false;
    if (document.activeElement === byId("result-title")) byId("result-go").focus();
  }
}

/** @param {any[]} labels */
function names(labels) {
  return labels.map(({ name }) => name).join(", ");
}

/** Remove an earlier result. @param {any} state @param {Choices} choices */
function clear(state, { repeat }) {
  byId("result-title").textContent = state.finished ? "Result" : "Stopped. Your answers are saved.";
  byId("result-title").classList.remove("fig", "title");
  for (const name of ["result-lead", "result-note", "result-go-note"]) byId(name).textContent = "";
  for (const name of ["result-lamps", "result-ruler", "result-content"]) {
    byId(name).replaceChildren();
  }
  byId("result-go").hidden = true;
  byId("repeat").hidden = !repeat;
  byId("all-answers").href = `/history?session=${state.id}`;
}

/** Show the first part of the result. @param {any} result */
function showEnding({ ending, sections }) {
  const title = byId("result-title");
  if (!ending) {
    byId("result-lead").textContent = withMinus(sections[0].sentences[0] ?? "");
    return;
  }
  const figure = withMinus(ending.figure);
  if (figure) {
    title.classList.add("fig");
    const unit = ending.unit ? ["\u202f", element("small", {}, ending.unit)] : [];
    title.replaceChildren(figure, ...unit);
    document.title = `${title.textContent} - faintcall`;
  } else {
    title.classList.add("title");
    title.textContent = withMinus(ending.title);
  }
  byId("result-lead").textContent = withMinus(ending.lead);
  byId("result-note").textContent = withMinus(ending.note);
  const lamps = ending.lamps;
  if (lamps.length > 1 && lamps.length <= MOST_LAMPS) {
    byId("result-lamps").replaceChildren(lampString(lamps));
  }
  if (ending.ruler) byId("result-ruler").replaceChildren(rulerPicture(ending.ruler));
  if (ending.picture) byId("result-ruler").replaceChildren(drawPicture(ending.picture));
}

/**
 * Return the details, which follow the first part.
 * @param {any} result
 * @param {any[]} answers
 * @param {any} state
 * @param {import("./player.js").Player} player
 */
function details({ ending, picture, sections }, answers, state, player) {
  // The sentences of practice, and of a session that was stopped, stand in the first part.
  const told = ending?.lamps.length > 0 || !state.finished;
  return [
    ...(picture ? [curveSection(picture, sections[0])] : []),
    ...sections.slice(picture || told ? 1 : 0).map(resultSection),
    ...(answers.length && state.finished ? [answersSection(state.id, answers, player)] : []),
  ];
}

/** Return the curve beside its sentences. @param {any} picture @param {any} section */
function curveSection(picture, { title, figures, sentences, tables }) {
  return element("section", { "aria-labelledby": "curve-title" },
    element("h3", { id: "curve-title", class: "section-title" }, title),
    element("div", { class: "two wide-left" },
      element("div", {}, drawPicture(picture)),
      element("div", {}, ...paragraphs(figures.map(withMinus)))),
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data, 0)),
    ...paragraphs(sentences.slice(figures.length).map(withMinus)));
}

/** @param {any} section */
function resultSection({ title, sentences, tables }) {
  return element("section", {},
    ...(title ? [element("h3", { class: "section-title" }, title)] : []),
    ...paragraphs(sentences.map(withMinus)),
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data)));
}
