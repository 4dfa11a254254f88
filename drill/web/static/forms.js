// @ts-check
// Forms: choices with a sentence each, numbers with a range, and errors beside their fields.

/**
 * Fill a select with choices; the sentence of the chosen one stands beside it.
 * @param {HTMLSelectElement} select
 * @param {{name: string, says: string, problem?: boolean}[]} entries
 * @param {string} chosen
 * @param {string} open what the entry without a name is called
 */
export function filled(select, entries, chosen, open = "as the conditions") {
  select.replaceChildren(...entries.map(({ name, problem }) => {
    const option = new Option(name || open, name, name === chosen, name === chosen);
    option.disabled = Boolean(problem); // an own file that cannot be used
    return option;
  }));
  const says = document.getElementById(`${select.id}-says`);
  const show = () => {
    const found = entries.find(({ name }) => name === select.value);
    if (says) says.textContent = found?.says ?? "";
  };
  select.addEventListener("change", show);
  show();
}

/**
 * Return the number in a field, null where it is empty.
 * @param {HTMLInputElement} input
 */
export function numberIn(input) {
  return input.value.trim() === "" ? null : Number(input.value);
}

/**
 * Take an error away, from the page and from its field.
 * @param {HTMLElement} problem
 */
export function plain(problem) {
  problem.hidden = true;
  problem.textContent = "";
  for (const field of document.querySelectorAll(`[aria-errormessage="${problem.id}"]`)) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-errormessage");
    described(field, problem.id, false);
  }
}

/**
 * Show an error and tie it to its field, which gets the focus.
 * @param {HTMLElement} problem
 * @param {string} sentence
 * @param {HTMLElement|null} field
 */
export function wrong(problem, sentence, field) {
  plain(problem);
  problem.textContent = sentence;
  problem.hidden = false;
  if (!field) {
    problem.focus();
    return;
  }
  const folded = field.closest("details");
  if (folded) folded.open = true;
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-errormessage", problem.id);
  described(field, problem.id, true);
  field.focus();
}

/** @param {Element} field @param {string} id @param {boolean} on */
function described(field, id, on) {
  const others = (field.getAttribute("aria-describedby") ?? "").split(" ")
    .filter((one) => one && one !== id);
  const all = on ? [...others, id] : others;
  if (all.length) field.setAttribute("aria-describedby", all.join(" "));
  else field.removeAttribute("aria-describedby");
}

/**
 * Return true where every number in sight is one and within its range; else show the first error.
 * @param {HTMLFormElement} form
 * @param {HTMLElement} problem
 */
export function check(form, problem) {
  plain(problem);
  for (const input of form.querySelectorAll("input[type=number]")) {
    const field = /** @type {HTMLInputElement} */ (input);
    if (field.closest("[hidden]") || field.validity.valid) continue;
    const name = form.querySelector(`label[for="${field.id}"]`)?.textContent ?? field.name;
    const whole = field.step === "any" ? "" : "a whole number from ";
    wrong(problem, `${name}: give ${whole}${field.min} to ${field.max}.`, field);
    return false;
  }
  return true;
}
