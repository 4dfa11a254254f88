// @ts-check
// What several pages show of the server's figures: sentences, tables, charts.

/**
 * Return an element. Text is set as text, never as markup.
 * @param {string} name
 * @param {Record<string, string>} attributes
 * @param {...(Node|string)} children
 */
export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

/**
 * Return sentences as paragraphs; what stands between grave accents is a command.
 * @param {string[]} sentences
 */
export function paragraphs(sentences) {
  return sentences.map((sentence) => el("p", {}, ...sentence.split("`").map((part, place) =>
    place % 2 ? el("code", {}, part) : part)));
}

let wideOnes = 0;

/**
 * Return something wide in a frame that scrolls sideways. Where it does, the frame can be reached
 * by keyboard and has a name; where it does not, it is no stop on the way.
 * @param {Element} content
 * @param {string} name
 */
export function wide(content, name) {
  const frame = el("div", { class: "wide", id: `wide-${++wideOnes}` }, content);
  const watch = new ResizeObserver(() => {
    const scrolls = frame.scrollWidth > frame.clientWidth + 1;
    const marks = { tabindex: "0", role: "region", "aria-label": `${name}, scrolls sideways` };
    for (const [key, value] of Object.entries(marks)) {
      if (scrolls) frame.setAttribute(key, value);
      else if (document.activeElement !== frame) frame.removeAttribute(key);
    }
  });
  watch.observe(frame);
  watch.observe(content);
  return frame;
}

/**
 * Return a table of the server's; the first cell of a row names the row.
 * @param {{caption: string, head: string[], rows: (string|Node)[][]}} data
 */
export function table({ caption, head, rows }) {
  const body = rows.map((row) =>
    el("tr", {}, ...row.map((cell, place) =>
      place ? el("td", {}, cell) : el("th", { scope: "row" }, cell))));
  const made = el("table", {},
    el("caption", {}, caption),
    el("thead", {}, el("tr", {}, ...head.map((name) => el("th", { scope: "col" }, name)))),
    el("tbody", {}, ...body));
  return wide(made, caption);
}

/**
 * Return a chart. It comes as SVG with a title and a description, without styles or scripts.
 * @param {{svg: string}} data
 * @param {string} name
 */
export function chart({ svg }, name) {
  const parsed = new DOMParser().parseFromString(svg, "image/svg+xml");
  const drawn = /** @type {Element} */ (document.importNode(parsed.documentElement, true));
  drawn.classList.add("chart");
  return wide(drawn, name);
}

/**
 * Return tables behind a line that opens them; short ones are open already.
 * @param {{caption: string, head: string[], rows: (string|Node)[][]}} data
 * @param {number} most rows of a table that is open
 */
export function folded(data, most = 12) {
  const rows = data.rows.length === 1 ? "1 row" : `${data.rows.length} rows`;
  const made = el("details", {},
    el("summary", {}, `Table: ${data.caption}, ${rows}`), table(data));
  if (data.rows.length <= most) made.setAttribute("open", "");
  return made;
}

/**
 * Return a call or an exchange with its characters apart, so that they are also read apart.
 * @param {string} text
 */
export function apart(text) {
  return Array.from(text.toUpperCase()).join(" ");
}

/**
 * Return when something was, in this machine's own time.
 * @param {string} moment as ISO 8601 with an offset
 */
export function when(moment) {
  const at = new Date(moment);
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return el("time", { datetime: moment }, `${day} ${two(at.getHours())}:${two(at.getMinutes())}`);
}
