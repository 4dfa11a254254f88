// @ts-check
// Building blocks of the pages: elements, tables, charts and text.

/**
 * Return the element with an id. Its type is `any`, because the caller knows the template.
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  return document.getElementById(id);
}

/**
 * Return a new element. Text is inserted as text, never as markup.
 * @param {string} name
 * @param {Record<string, string>} attributes
 * @param {...(Node|string)} children
 */
export function element(name, attributes = {}, ...children) {
  const result = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) result.setAttribute(key, value);
  result.append(...children);
  return result;
}

/** Return sentences as paragraphs. @param {string[]} sentences */
export function paragraphs(sentences) {
  return sentences.map((sentence) => element("p", {}, sentence));
}

/** Return words of an over as they are written: CQ in capitals. @param {string} words */
export function asSpoken(words) {
  return words.replace(/\bcq\b/g, "CQ");
}

let frameCount = 0;

/**
 * Return wide content in a frame that scrolls sideways. While it needs to scroll, the frame has a
 * name and can be reached by keyboard; otherwise it is no tab stop.
 * @param {Element} content
 * @param {string} name
 */
export function scrollable(content, name) {
  frameCount += 1;
  const frame = element("div", { class: "scrollable", id: `scrollable-${frameCount}` }, content);
  const observer = new ResizeObserver(() => {
    const scrolls = frame.scrollWidth > frame.clientWidth + 1;
    const attributes = { tabindex: "0", role: "region", "aria-label": `${name}, scrolls sideways` };
    for (const [key, value] of Object.entries(attributes)) {
      if (scrolls) frame.setAttribute(key, value);
      else if (document.activeElement !== frame) frame.removeAttribute(key);
    }
  });
  observer.observe(frame);
  observer.observe(content);
  return frame;
}

/**
 * stacks: in a narrow window the cells of a row stand below each other, with the column's name.
 * @typedef {{
 *   caption: string, head: string[], rows: (string|Node)[][], stacks?: boolean,
 * }} TableData
 */

/** A table with more columns than this takes the whole width. */
const MANY_COLUMNS = 6;
/** A cell that begins with a figure. */
const FIGURE = /^[-+\u2212]?\d/;

/**
 * Return the attributes of each column: figures line up at the right.
 * @param {TableData} data
 * @returns {Record<string, string>[]}
 */
function columnClasses({ head, rows }) {
  return head.map((_, index) => {
    const cells = rows.map((row) => row[index]).filter((cell) => cell !== "");
    const figures = cells.every((cell) => typeof cell === "string" && FIGURE.test(cell));
    return index && cells.length && figures
      ? { class: "figure" } : /** @type {Record<string, string>} */ ({});
  });
}

/** Return a table; the first cell of each row is the row's header. @param {TableData} data */
export function table({ caption, head, rows, stacks = false }) {
  const classes = columnClasses({ caption, head, rows });
  const label = (/** @type {number} */ index) =>
    (stacks ? { "data-label": head[index] } : /** @type {Record<string, string>} */ ({}));
  const body = rows.map((row) =>
    element("tr", {}, ...row.map((cell, index) =>
      index ? element("td", { ...classes[index], ...label(index) }, cell)
        : element("th", { scope: "row", ...label(0) }, cell))));
  const header = head.map((name, index) => element("th", { scope: "col", ...classes[index] }, name));
  const names = [head.length > MANY_COLUMNS ? "wide" : "", stacks ? "stacks" : ""];
  const result = element("table", { class: names.join(" ").trim() },
    element("caption", {}, caption),
    element("thead", {}, element("tr", {}, ...header)),
    element("tbody", {}, ...body));
  return scrollable(result, caption);
}

/**
 * Return a table behind a line that opens it; a short table is open already.
 * @param {TableData} data
 * @param {number} maxOpenRows
 */
export function collapsibleTable(data, maxOpenRows = 12) {
  const rows = data.rows.length === 1 ? "1 row" : `${data.rows.length} rows`;
  const result = element("details", {},
    element("summary", {}, `Table: ${data.caption}, ${rows}`), table(data));
  if (data.rows.length <= maxOpenRows) result.setAttribute("open", "");
  return result;
}

/**
 * Return a chart. The server sends SVG with a title and a description, without styles or scripts.
 * @param {{svg: string}} data
 * @param {string} name
 */
export function chart({ svg }, name) {
  const parsed = new DOMParser().parseFromString(svg, "image/svg+xml");
  const drawing = /** @type {Element} */ (document.importNode(parsed.documentElement, true));
  drawing.classList.add("chart");
  return scrollable(drawing, name);
}

/**
 * Return a call or an exchange with spaces between its characters, so that screen readers spell it.
 * @param {string} text
 */
export function spaced(text) {
  return Array.from(text.toUpperCase()).join(" ");
}

/**
 * Return a time element with date and time in this computer's time zone.
 * @param {string} moment ISO 8601 with an offset
 */
export function dateTime(moment) {
  const date = new Date(moment);
  const two = (/** @type {number} */ value) => String(value).padStart(2, "0");
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const time = `${two(date.getHours())}:${two(date.getMinutes())}`;
  return element("time", { datetime: moment }, `${day} ${time}`);
}

/** Return links to the pages that fill an empty record. */
export function nextSteps() {
  return element("ul", { class: "link-list" },
    element("li", {}, element("a", { href: "/practise" }, "Practise")),
    element("li", {}, element("a", { href: "/measure" }, "Measure")));
}

/** Return the text with its first letter in upper case. @param {string} text */
export function capitalized(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}
