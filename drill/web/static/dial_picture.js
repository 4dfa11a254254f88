// @ts-check
// The dial over the time of a hunt: a line, the contacts on it, and the quarter hours below.
import { Picture, polyline, scale, ticks } from "./pictures.js";

/** Share of the picture, in per cent, that the bands take; the rest is for the quarter hours. */
const LOWEST = 84;
const HIGHEST = 4;
/** Room for a frequency at the left, in characters. */
const GUTTER = 6;
const GAP = 4;
const QUARTER_S = 900;

/**
 * @typedef {{low_khz: number, high_khz: number}} Band
 * @typedef {{at_s: number, khz: number, right: boolean}} Contact
 * @typedef {{start_s: number, end_s: number, khz: number, label: string}} Stay
 * @typedef {{
 *   says: string, seconds: number, bands: Band[], points: [number, number][],
 *   contacts: Contact[], quarters: number[], stay: Stay|null,
 * }} Dial
 */

/** Return a frequency with a space after the thousands. @param {number} khz */
function khzText(khz) {
  const whole = Math.round(khz);
  return `${Math.floor(whole / 1000)} ${String(whole % 1000).padStart(3, "0")}`;
}

/**
 * Return the height of each frequency; the bands lie one above the other.
 * @param {Band[]} bands
 */
function heights(bands) {
  const share = (LOWEST - HIGHEST - GAP * (bands.length - 1)) / bands.length;
  const scales = bands.map(({ low_khz: low, high_khz: high }, index) => {
    const bottom = LOWEST - index * (share + GAP);
    return { low, high, y: scale([low, high], [bottom, bottom - share]) };
  });
  return (/** @type {number} */ khz) => {
    const band = scales.find(({ low, high }) => low <= khz && khz <= high) ?? scales[0];
    return band.y(khz);
  };
}

/** Return the picture. @param {Dial} dial */
export function dialPicture({ says, seconds, bands, points, contacts, quarters, stay }) {
  const picture = new Picture("high", says, GUTTER);
  const x = scale([0, seconds], [0, 100]);
  const y = heights(bands);
  for (const { low_khz: low, high_khz: high } of bands) {
    for (const khz of ticks(low, high, bands.length > 1 ? 2 : 4)) {
      picture.path("k-rule", `M0 ${y(khz)}H100`);
      picture.text(khzText(khz), 0, y(khz), "beside soft");
    }
  }
  /** @type {[number, number][]} */ const line = [];
  points.forEach(([at, khz], index) => {
    const end = index + 1 < points.length ? points[index + 1][0] : seconds;
    line.push([x(at), y(khz)], [x(end), y(khz)]);
  });
  picture.path("k-sea", polyline(line));
  if (stay) picture.path("k-lost", `M${x(stay.start_s)} ${y(stay.khz)}H${x(stay.end_s)}`);
  for (const { at_s: at, khz, right } of contacts) picture.dot(x(at), y(khz), right ? "" : "lost");
  quarters.forEach((right, index) => {
    const start = index * QUARTER_S, end = Math.min(seconds, start + QUARTER_S);
    picture.text(`${start / 60} min`, x(start), 91, index ? "soft" : "begin soft");
    picture.text(index ? `${right}` : `${right} right`, x((start + end) / 2), 99);
  });
  return picture.frame;
}
