// @ts-check
// The report: the sentences that matter, pictures where there is enough data, then every table.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { byId, collapsibleTable, element, nextSteps, paragraphs } from "./elements.js";
import { drawPicture, withMinus } from "./pictures.js";

/** Number of items of a short training. */
const SHORT_TRAINING = 12;

/** @param {any} headline */
function headlineEntry({ before, figure, after, note }) {
  return element("li", {},
    element("p", {}, before, element("b", {}, withMinus(figure)), withMinus(after)),
    element("p", { class: "hint" }, withMinus(note)));
}

/** Return a section that has something to show. @param {any} section */
function drawnSection({ name, title, sentences, picture, tables }) {
  const id = `section-${name}`;
  return element("section", { "aria-labelledby": id },
    element("h2", { id, tabindex: "-1" }, title),
    ...(picture ? [drawPicture(picture)] : []),
    ...paragraphs(sentences.map(withMinus)),
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data, 0)));
}

/** Return a section that has too little data for a picture. @param {any} section */
function plainSection({ name, title, sentences, tables }) {
  const id = `section-${name}`;
  return element("section", { "aria-labelledby": id },
    element("h3", { id }, title),
    ...paragraphs(sentences.map(withMinus)),
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data, 0)));
}

/** Let the recogniser copy piece by piece, show how many calls are left, then renew the page. */
async function copyByMachine() {
  const button = byId("copy-by-machine");
  button.disabled = true;
  try {
    let left = 1;
    while (left) {
      ({ left } = await post("/api/machine-copies", {}));
      announce(left ? `The recogniser is copying; calls left: ${left}.`
        : "The recogniser has finished.");
    }
    location.reload();
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
    button.disabled = false;
  }
}

/** Begin a session on what costs most. */
async function practise() {
  byId("practise").disabled = true; // Enter was pressed twice
  try {
    const { id } = await post("/api/sessions", { kind: "training", count: SHORT_TRAINING });
    location.href = `/practise?session=${id}`;
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
    byId("practise").disabled = false;
  }
}

/** Show the title and what fills the record, in place of sentences. */
function showNextSteps() {
  byId("report-title").classList.remove("screen-reader-only");
  byId("next-steps").append(nextSteps());
}

/** @param {any} report */
function showReport({
  sentence, enough, headlines, sections, missing, conventions, machine_is_behind: behind,
}) {
  announce(sentence);
  if (!enough) {
    showNextSteps();
    return;
  }
  byId("headlines").replaceChildren(...headlines.map(headlineEntry));
  byId("headlines").hidden = !headlines.length;
  byId("practise-part").hidden = !headlines.length;
  if (!headlines.length) showNextSteps();
  const shown = sections.filter((/** @type {any} */ section) => !section.missing);
  byId("drawn").replaceChildren(...shown.map(drawnSection));
  const lacking = sections.filter((/** @type {any} */ section) => section.missing);
  byId("sections").replaceChildren(...lacking.map(plainSection));
  byId("tables").hidden = !lacking.length;
  byId("missing-text").textContent = `Too few answers so far: ${missing.join(", ")}.`;
  byId("missing").hidden = !missing.length;
  byId("conventions").replaceChildren(...paragraphs(conventions));
  byId("more").hidden = false;
  byId("machine").hidden = !behind;
}

byId("copy-by-machine").addEventListener("click", copyByMachine);
byId("practise").addEventListener("click", practise);

try {
  showReport(await get("/api/report"));
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
