// @ts-check
// Past sittings, newest first; with ?of=ID in the address the answers of one of them.
import { get } from "./api.js";
import { apart, el, table, when } from "./figures.js";
import { say } from "./say.js";

const MOST = 50;
const MORE = 1000;
/** The page on which a kind of sitting goes on. */
const PAGES = /** @type {Record<string, string>} */ ({
  practice: "/practise", training: "/practise", measuring: "/measure", quick: "/measure",
  comparing: "/compare",
});
const KINDS = /** @type {Record<string, string>} */ ({
  practice: "practice", training: "training", measuring: "measuring", quick: "quick check",
  comparing: "comparison",
});

const rows = /** @type {HTMLElement} */ (document.getElementById("rows"));
const asked = new URLSearchParams(location.search);

/** @param {any} sitting */
function named(sitting) {
  return `${KINDS[sitting.kind] ?? sitting.kind} of ${when(sitting.started).textContent}`;
}

/** @param {any} sitting */
function links(sitting) {
  const name = named(sitting);
  const made = [el("a", { href: `/history?of=${sitting.id}`, "aria-label": `Answers, ${name}` },
    "Answers")];
  if (sitting.open) {
    const page = PAGES[sitting.kind] ?? "/practise";
    made.push(el("a", { href: `${page}?go=${sitting.id}`, "aria-label": `Go on, ${name}` },
      "Go on"));
  }
  return el("span", { class: "links" }, ...made);
}

/** @param {any[]} sittings */
function list(sittings) {
  return table({
    caption: "Sittings, newest first",
    head: ["when", "kind", "what", "conditions", "SNR in 3 kHz", "right", "points an item",
      "more"],
    rows: sittings.map((one) => [
      when(one.started), KINDS[one.kind] ?? one.kind, one.part ?? "", one.conditions ?? "",
      one.snr, one.right === null ? `${one.answered} answered` : `${one.right} of ${one.answered}`,
      one.right === null ? "at its end" : String(Math.round(one.points)), links(one),
    ]),
  });
}

async function showAll() {
  const limit = asked.has("all") ? MORE : MOST;
  const { sittings } = await get(`/api/history?limit=${limit}`);
  if (!sittings.length) {
    say("Nothing is recorded yet.");
    rows.append(el("ul", { class: "onward" },
      el("li", {}, el("a", { href: "/practise" }, "Practise")),
      el("li", {}, el("a", { href: "/measure" }, "Measure"))));
    return;
  }
  const open = sittings.filter((/** @type {any} */ one) => one.open).length;
  const count = sittings.length === 1 ? "1 sitting" : `${sittings.length} sittings`;
  const more = open ? ` ${open} can be gone on with.` : "";
  say(`${count}, newest first.${more}`);
  rows.append(list(sittings));
  if (sittings.length === limit && !asked.has("all")) {
    rows.append(el("p", {}, el("a", { href: "/history?all" }, "Show older sittings too")));
  }
}

/**
 * Return characters with those that differ marked: underlined and bold, not by colour alone.
 * @param {any} field
 * @param {"sent"|"copied"} side
 */
function characters(field, side) {
  const made = el("span", { class: "characters" });
  if (field.right || !field.pairs.length) {
    made.append(apart(field[side]) || "nothing");
    return made;
  }
  for (const pair of field.pairs) {
    const shown = (pair[side] || "–").toUpperCase();
    made.append(pair.sent === pair.copied ? shown : el("mark", {}, shown), " ");
  }
  return made;
}

/** @param {any} answer @param {"sent"|"copied"} side */
function fields(answer, side) {
  const cell = el("ul", { class: "fields" });
  for (const field of answer.fields) {
    const hint = side === "copied" && field.hint ? ` (${field.hint})` : "";
    cell.append(el("li", {}, `${field.name} `, characters(field, side), hint));
  }
  return cell;
}

/** @param {any} answer */
function row(answer) {
  const typed = answer.given_up ? "given up" : answer.typed || "nothing";
  const times = answer.heard === 1 ? "once" : `${answer.heard} times`;
  return [
    String(answer.number), answer.right ? "right" : "wrong", fields(answer, "sent"),
    answer.given_up ? typed : fields(answer, "copied"), answer.snr, answer.operator,
    `${answer.seconds.toFixed(1)} s`, times,
  ];
}

/** @param {string} id */
async function showOne(id) {
  const { sitting, answers, withheld } = await get(`/api/history/${encodeURIComponent(id)}`);
  const back = el("p", {}, el("a", { href: "/history" }, "All sittings"));
  const name = named(sitting);
  const heading = /** @type {HTMLElement} */ (document.querySelector("h1"));
  heading.textContent = `Answers: ${name}`;
  document.title = document.title.replace("History", `Answers, ${name}`);
  say(withheld ? `${sitting.answered} answered; told at its end.`
    : `${sitting.right} of ${sitting.answered} right, SNR ${sitting.snr}, `
      + `${Math.round(sitting.points)} points an item.`);
  rows.append(back);
  if (sitting.open) {
    const page = PAGES[sitting.kind] ?? "/practise";
    rows.append(el("p", {}, el("a", { href: `${page}?go=${sitting.id}` }, "Go on with it")));
  }
  if (withheld) {
    rows.append(el("p", {}, "Its answers are shown when it is finished: to know them would "
      + "change what is measured."));
    return;
  }
  rows.append(table({
    caption: "Answers in their order",
    head: ["item", "verdict", "sent", "copied", "SNR in 3 kHz", "operator", "after", "heard"],
    rows: answers.map(row),
  }));
}

try {
  const of = asked.get("of");
  await (of ? showOne(of) : showAll());
} catch (error) {
  say(/** @type {Error} */ (error).message);
}
