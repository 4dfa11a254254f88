// @ts-check
// Pictures of figures: inline SVG that stretches, with letters and marks in HTML that do not.
import { element } from "./elements.js";

const NAMESPACE = "http://www.w3.org/2000/svg";
const TICKS = 4;
const CURVE_TICKS = 7;

/**
 * @typedef {{value: number, low: number, high: number}} Interval
 * @typedef {{x: number, interval: Interval, label: string}} Point
 * @typedef {{
 *   kind: "points", says: string, points: Point[], unit: string, lower_is_better: boolean,
 *   ends: [string, string], whole: boolean,
 * }} Points
 * @typedef {{
 *   kind: "curve", says: string, curve: Point[], data: Point[], x50_db: number|null,
 *   machine: Point[], machine_label: string,
 * }} Curve
 * @typedef {{label: string, interval: Interval}} Row
 * @typedef {{kind: "rows", says: string, rows: Row[], zero_label: string, unit: string}} Rows
 * @typedef {{watts: number, db: number}} Mark
 * @typedef {{says: string, x50_db: [number, number, number], marks: Mark[]}} Ruler
 */

/** Return a text with minus signs in place of hyphens before figures. @param {string} text */
export function withMinus(text) {
  return text.replace(/(^|[\s(])-(?=\d)/g, "$1\u2212");
}

/** Return a value for an axis. @param {number} value */
function axisText(value) {
  return String(Math.round(100 * value) / 100).replace("-", "\u2212");
}

/** Return a signed value for an axis. @param {number} value */
function signedText(value) {
  return (value > 0 ? "+" : "") + axisText(value);
}

/**
 * Return round values in a range.
 * @param {number} low
 * @param {number} high
 * @param {number} count about how many
 */
export function ticks(low, high, count = TICKS) {
  const rough = (high - low) / count || 1;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((factor) => factor * power).find((size) => size >= rough) ?? rough;
  const result = [];
  for (let value = Math.ceil(low / step) * step; value <= high + step / 1e6; value += step) {
    result.push(value);
  }
  return result;
}

/**
 * Return a function that maps a range of values to a range of per cent.
 * @param {[number, number]} values
 * @param {[number, number]} percent
 */
export function scale([low, high], [start, end]) {
  const span = high - low || 1;
  return (/** @type {number} */ value) => start + ((value - low) / span) * (end - start);
}

/** A drawing 100 by 100 with letters and marks over it. */
export class Picture {
  #svg = document.createElementNS(NAMESPACE, "svg");
  #frame;

  /**
   * @param {string} kind class of its height
   * @param {string} says its accessible name
   * @param {number} gutter room at the left for labels, in characters
   */
  constructor(kind, says, gutter = 0) {
    this.#svg.setAttribute("viewBox", "0 0 100 100");
    this.#svg.setAttribute("preserveAspectRatio", "none");
    this.#svg.setAttribute("aria-hidden", "true");
    this.#frame = element("div", { class: `pic ${kind}`, role: "img", "aria-label": says },
      /** @type {any} */ (this.#svg));
    this.#frame.style.setProperty("--gutter", String(gutter));
  }

  /** @param {string} kind @param {string} d */
  path(kind, d) {
    const path = document.createElementNS(NAMESPACE, "path");
    path.setAttribute("class", kind);
    path.setAttribute("d", d);
    this.#svg.append(path);
  }

  /**
   * @param {string} kind
   * @param {string} name
   * @param {number} x
   * @param {number} y
   * @param {string} text
   */
  #place(kind, name, x, y, text) {
    const mark = element(name, { class: kind }, text);
    mark.style.setProperty("--x", `${x.toFixed(2)}%`);
    mark.style.setProperty("--y", `${y.toFixed(2)}%`);
    this.#frame.append(mark);
  }

  /** @param {string} text @param {number} x @param {number} y @param {string} kind */
  text(text, x, y, kind = "") {
    this.#place(`at ${kind}`.trim(), "span", x, y, text);
  }

  /** @param {number} x @param {number} y @param {string} kind */
  dot(x, y, kind = "") {
    this.#place(`dot ${kind}`.trim(), "i", x, y, "");
  }

  get frame() {
    return this.#frame;
  }
}

/** @param {[number, number][]} points */
export function polyline(points) {
  return points.map(([x, y], index) =>
    `${index ? "L" : "M"}${x.toFixed(2)} ${y.toFixed(2)}`).join("");
}

/**
 * Return values with intervals; the newest value is drawn as a lit dot.
 * @param {Points} data
 * @param {string} height class of its height
 */
export function pointsPicture(data, height = "high") {
  const { says, points, unit, lower_is_better: down, ends, whole } = data;
  const lows = points.map(({ interval }) => interval.low);
  const highs = points.map(({ interval }) => interval.high);
  const range = /** @type {[number, number]} */ (whole ? [0, 100]
    : unit === "s" ? [0, Math.max(...highs)] : [Math.min(...lows), Math.max(...highs)]);
  const x = scale([points[0].x, points[points.length - 1].x], [3, 96]);
  const y = scale(range, down ? [6, 82] : [82, 6]);
  const marks = ticks(...range);
  const top = down ? 0 : marks.length - 1;
  const texts = marks.map((value, index) => axisText(value) + (index === top ? ` ${unit}` : ""));
  const picture = new Picture(height, says, Math.max(...texts.map((text) => text.length)));
  marks.forEach((value, index) => {
    picture.path("k-rule", `M0 ${y(value)}H100`);
    picture.text(texts[index], 0, y(value), "beside");
  });
  points.forEach(({ x: at, interval }, index) => {
    picture.path("k-int", `M${x(at)} ${y(interval.low)}V${y(interval.high)}`);
    picture.dot(x(at), y(interval.value), index === points.length - 1 && ends[1] ? "you" : "");
  });
  if (ends[0]) picture.text(ends[0], 0, 96, "begin soft");
  if (ends[1]) picture.text(ends[1], 100, 96, "end soft");
  for (const { x: at, label } of points) if (label) picture.text(label, x(at), 96, "soft");
  return picture.frame;
}

/** Return the curve of a listener, with its band and data. @param {Curve} data */
export function curvePicture({ says, curve, data, x50_db: x50, machine, machine_label: label }) {
  const picture = new Picture("high", says, 3);
  const range = /** @type {[number, number]} */ ([curve[0].x, curve[curve.length - 1].x]);
  const x = scale(range, [0, 100]), y = scale([0, 1], [86, 6]);
  ["0", "half", "all"].forEach((text, index) => {
    picture.path("k-rule", `M0 ${y(index / 2)}H100`);
    picture.text(text, 0, y(index / 2), "beside soft");
  });
  const upper = curve.map((p) => /** @type {[number, number]} */ ([x(p.x), y(p.interval.high)]));
  const lower = curve.map((p) => /** @type {[number, number]} */ ([x(p.x), y(p.interval.low)]));
  picture.path("k-band", `${polyline([...upper, ...lower.reverse()])}Z`);
  const line = (/** @type {Point[]} */ points) =>
    polyline(points.map((p) => [x(p.x), y(p.interval.value)]));
  if (machine.length) picture.path("k-sea second", line(machine));
  picture.path("k-sea", line(curve));
  for (const { x: at, interval } of data) {
    picture.path("k-int", `M${x(at)} ${y(interval.low)}V${y(interval.high)}`);
    picture.dot(x(at), y(interval.value));
  }
  if (x50 !== null) {
    picture.path("k-dash", `M${x(x50)} ${y(0.5)}V86`);
    picture.dot(x(x50), y(0.5), "you");
  }
  const marks = ticks(...range, CURVE_TICKS);
  marks.forEach((value) => picture.text(axisText(value), x(value), 96, "soft"));
  if (!label) return picture.frame;
  return element("div", {}, picture.frame, element("p", { class: "hint" }, `Dashed: ${label}.`));
}

/** Return labels with their values, 0 in common. @param {Rows} data */
export function rowsPicture({ says, rows, zero_label: zero, unit }) {
  const longest = Math.max(...rows.map(({ label }) => label.length));
  const picture = new Picture("rows", says, longest);
  picture.frame.style.setProperty("--rows", String(rows.length));
  const range = /** @type {[number, number]} */ ([
    Math.min(0, ...rows.map(({ interval }) => interval.low)),
    Math.max(0, ...rows.map(({ interval }) => interval.high)),
  ]);
  const x = scale(range, [2, 97]);
  const height = 100 / (rows.length + 1);
  picture.path("k-dash", `M${x(0)} 0V${100 - height}`);
  rows.forEach(({ label, interval }, index) => {
    const y = (index + 0.5) * height;
    picture.path("k-rule", `M0 ${y}H100`);
    picture.path("k-int", `M${x(interval.low)} ${y}H${x(interval.high)}`);
    picture.text(label, 0, y, label.length === 1 ? "beside calls" : "beside");
    picture.dot(x(interval.value), y);
  });
  const marks = ticks(...range);
  marks.forEach((value, index) => {
    const text = value ? signedText(value) + (index === marks.length - 1 ? ` ${unit}` : "") : zero;
    picture.text(text, x(value), 100 - height / 3, "soft");
  });
  return picture.frame;
}

/**
 * Return one cost beside the average.
 * @param {[number, number, number]} cost value, low and high in dB
 * @param {number} most upper end of the scale in dB
 * @param {boolean} labelled whether the scale is labelled
 */
export function costPicture([value, low, high], most, labelled) {
  const says = `${value.toFixed(1)} dB, between ${low.toFixed(1)} and ${high.toFixed(1)}`;
  const picture = new Picture("", says);
  const x = scale([-0.15 * most, most], [0, 97]);
  picture.path("k-axis", `M${x(0)} 10V90`);
  picture.path("k-rule", "M0 50H100");
  picture.path("k-int wide", `M${x(low)} 50H${x(high)}`);
  picture.dot(x(value), 50);
  if (labelled) {
    picture.text("average", x(0), -8, "soft");
    const mark = Math.max(1, Math.floor(most));
    picture.text(`+${mark} dB`, x(mark), -8, "soft");
  }
  return picture.frame;
}

/**
 * Return x50 with its interval on a ruler of SNR, and the SNR of each power.
 * @param {Ruler} data
 */
export function rulerPicture({ says, x50_db: [x50, low, high], marks }) {
  const picture = new Picture("ruler", says);
  const values = [low, high, ...marks.map(({ db }) => db)];
  const range = /** @type {[number, number]} */ (
    [Math.floor(Math.min(...values)) - 3, Math.ceil(Math.max(...values)) + 3]);
  const x = scale(range, [0, 100]);
  picture.path("k-band", `M${x(low)} 36H${x(high)}V 58 L ${x(low)} 58 Z`);
  picture.path("k-axis", "M0 58H100");
  for (let db = range[0]; db <= range[1]; db += 1) {
    const long = db % 5 === 0;
    picture.path(long ? "k-axis" : "k-axis thin", `M${x(db)} 58V${long ? 72 : 65}`);
    if (long) picture.text(signedText(db), x(db), 84);
  }
  for (const { watts, db } of marks) {
    picture.path("k-power", `M${x(db)} 58V24`);
    picture.text(`${watts} W`, x(db), 16);
  }
  picture.text("x50", x(low) - 1.5, 46, "end");
  picture.dot(x(x50), 58, "you");
  picture.text("weaker", 0, 100, "begin soft");
  picture.text("stronger, dB", 100, 100, "end soft");
  return picture.frame;
}

/**
 * Return lamps on a wire, one for each answer: lit if right, else a slashed square.
 * @param {boolean[]} answers
 */
export function lampString(answers) {
  const wire = document.createElementNS(NAMESPACE, "svg");
  wire.setAttribute("viewBox", "0 0 100 100");
  wire.setAttribute("preserveAspectRatio", "none");
  const path = document.createElementNS(NAMESPACE, "path");
  path.setAttribute("d", "M-4 -10Q50 134 104 -10");
  wire.append(path);
  const string = element("div", { class: "string", "aria-hidden": "true" });
  string.append(wire);
  string.style.setProperty("--lamps", String(answers.length));
  answers.forEach((right, index) => {
    const part = (index + 0.5) / answers.length;
    const lamp = element("i", { class: right ? "lit" : "off" });
    // The wire's own height there, a quadratic curve, so that the lamps hang on it.
    const t = (100 * part + 4) / 108;
    const height = -10 * (1 - t) ** 2 + 2 * 134 * t * (1 - t) - 10 * t ** 2;
    lamp.style.setProperty("--x", `${(100 * part).toFixed(2)}%`);
    lamp.style.setProperty("--y", `${height.toFixed(1)}%`);
    string.append(lamp);
  });
  return element("div", { class: "string-frame" }, string);
}

/** Return the picture of a report's section or of a result. @param {Points|Curve|Rows} data */
export function drawPicture(data) {
  if (data.kind === "points") return pointsPicture(data);
  return data.kind === "curve" ? curvePicture(data) : rowsPicture(data);
}
