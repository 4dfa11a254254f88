// @ts-check
// The report: sections of sentences, charts and tables.
import { announce } from "./announce.js";
import { get } from "./api.js";
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

/** @param {any} report */
function showReport({ sentence, enough, sections, conventions }) {
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
}

try {
  showReport(await get("/api/report"));
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
