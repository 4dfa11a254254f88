// @ts-check
// The report: sections of sentences, charts and tables.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { byId, chart, collapsibleTable, element, nextSteps, paragraphs } from "./elements.js";

/** @param {any} section */
function sectionElement({ name, title, sentences, charts, tables }) {
  const id = `section-${name}`;
  return element("section", { "aria-labelledby": id },
    element("h2", { id, tabindex: "-1" }, title),
    ...paragraphs(sentences),
    ...charts.map((/** @type {any} */ data) => chart(data, `Chart: ${title}`)),
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data)));
}

/** Let the recogniser copy piece by piece, show how many calls are left, then renew the page. */
async function copyByMachine() {
  const button = byId("copy-by-machine");
  button.disabled = true;
  try {
    let left = 1;
    while (left) {
      ({ left } = await post("/api/machine-copies", {}));
      announce(left ? `The recogniser is copying; calls left: ${left}.` : "The recogniser has finished.");
    }
    location.reload();
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
    button.disabled = false;
  }
}

/** @param {any} report */
function showReport({ sentence, enough, sections, conventions, machine_is_behind: behind }) {
  announce(sentence);
  if (!enough) {
    byId("next-steps").append(nextSteps());
    return;
  }
  const links = sections.map((/** @type {any} */ { name, title }) =>
    element("li", {}, element("a", { href: `#section-${name}` }, title)));
  byId("contents").querySelector("ul").append(...links);
  byId("contents").hidden = false;
  byId("sections").append(
    ...sections.map(sectionElement),
    element("section", { "aria-labelledby": "conventions" },
      element("h2", { id: "conventions" }, "What the figures mean"),
      ...paragraphs(conventions)));
  byId("files").hidden = false;
  byId("machine").hidden = !behind;
}

byId("copy-by-machine").addEventListener("click", copyByMachine);

try {
  showReport(await get("/api/report"));
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
