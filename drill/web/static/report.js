// @ts-check
// The report: sections of sentences, a chart where there is one, and the table behind it.
import { get } from "./api.js";
import { chart, el, folded, paragraphs } from "./figures.js";
import { say } from "./say.js";

/** @param {any} part */
function section(part) {
  const id = `part-${part.name}`;
  return el("section", { "aria-labelledby": id },
    el("h2", { id, tabindex: "-1" }, part.title),
    ...paragraphs(part.sentences),
    ...part.charts.map((/** @type {any} */ one) => chart(one, `Chart: ${part.title}`)),
    ...part.tables.map((/** @type {any} */ one) => folded(one)));
}

/** @param {any} report */
function show(report) {
  say(report.sentence);
  if (!report.enough) {
    document.getElementById("onward")?.append(el("ul", { class: "onward" },
      el("li", {}, el("a", { href: "/practise" }, "Practise")),
      el("li", {}, el("a", { href: "/measure" }, "Measure"))));
    return;
  }
  const contents = /** @type {HTMLElement} */ (document.getElementById("contents"));
  contents.querySelector("ul")?.append(...report.sections.map((/** @type {any} */ part) =>
    el("li", {}, el("a", { href: `#part-${part.name}` }, part.title))));
  contents.hidden = false;
  document.getElementById("sections")?.append(
    ...report.sections.map(section),
    el("section", { "aria-labelledby": "conventions" },
      el("h2", { id: "conventions" }, "What the figures mean"),
      ...paragraphs(report.conventions)));
  /** @type {HTMLElement} */ (document.getElementById("files")).hidden = false;
}

try {
  show(await get("/api/report"));
} catch (error) {
  say(/** @type {Error} */ (error).message);
}
