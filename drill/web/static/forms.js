// @ts-check
// Forms: selects with a description, numbers with a range, errors tied to their fields.

/**
 * Fill a select with options; the description of the chosen one is shown in its hint.
 * @param {HTMLSelectElement} select
 * @param {{name: string, says: string, problem?: boolean}[]} entries
 * @param {string} chosen
 * @param {string} emptyLabel label of the entry whose name is empty
 */
export function fillSelect(select, entries, chosen, emptyLabel = "as in the conditions") {
  select.replaceChildren(...entries.map(({ name, problem }) => {
    const option = new Option(name || emptyLabel, name, name === chosen, name === chosen);
    option.disabled = Boolean(problem); // a file of the user's that cannot be read
    return option;
  }));
  const hint = document.getElementById(`${select.id}-hint`);
  const showDescription = () => {
    const entry = entries.find(({ name }) => name === select.value);
    if (hint) hint.textContent = entry?.says ?? "";
  };
  select.addEventListener("change", showDescription);
  showDescription();
}

/**
 * Show the fields that belong to the chosen radio buttons: data-group names the group of buttons,
 * data-value the button for which the field is shown.
 * @param {HTMLFormElement} form
 */
export function showChosenFields(form) {
  const chosen = new FormData(form);
  for (const element of form.querySelectorAll("[data-group]")) {
    const field = /** @type {HTMLElement} */ (element);
    field.hidden = chosen.get(field.dataset.group ?? "") !== field.dataset.value;
  }
}

/** Return the number in a field, null if the field is empty. @param {HTMLInputElement} input */
export function numberValue(input) {
  return input.value.trim() === "" ? null : Number(input.value);
}

/** Remove an error message and the marks of its field. @param {HTMLElement} problem */
export function clearError(problem) {
  problem.hidden = true;
  problem.textContent = "";
  for (const field of document.querySelectorAll(`[aria-errormessage="${problem.id}"]`)) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-errormessage");
    setDescribedBy(field, problem.id, false);
  }
}

/**
 * Show an error message. If it concerns a field, the field is marked and focused; otherwise the
 * message gets the focus.
 * @param {HTMLElement} problem
 * @param {string} message
 * @param {HTMLElement|null} field
 */
export function showError(problem, message, field = null) {
  clearError(problem);
  problem.textContent = message;
  problem.hidden = false;
  if (!field) {
    problem.focus();
    return;
  }
  const details = field.closest("details");
  if (details) details.open = true;
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-errormessage", problem.id);
  setDescribedBy(field, problem.id, true);
  field.focus();
}

/**
 * Show what was thrown, at the form's field that it names if there is one in sight.
 * @param {HTMLElement} problem
 * @param {unknown} error
 * @param {HTMLFormElement} [form]
 */
export function showFailure(problem, error, form) {
  const { message, field = "" } = /** @type {any} */ (error);
  // "voices[0]" and "compare.thing" are entries of the fields "voices" and "compare".
  const [name] = field.split(/[.[]/);
  const input = name && form?.elements.namedItem(name);
  const usable = input instanceof HTMLElement && !input.closest("[hidden]");
  showError(problem, message, usable ? input : null);
}

/** @param {Element} field @param {string} id @param {boolean} on */
function setDescribedBy(field, id, on) {
  const others = (field.getAttribute("aria-describedby") ?? "").split(" ")
    .filter((other) => other && other !== id);
  const ids = on ? [...others, id] : others;
  if (ids.length) field.setAttribute("aria-describedby", ids.join(" "));
  else field.removeAttribute("aria-describedby");
}

/**
 * Return true if every visible number field is within its range; otherwise show the first error.
 * @param {HTMLFormElement} form
 * @param {HTMLElement} problem
 */
export function checkNumbers(form, problem) {
  clearError(problem);
  for (const input of form.querySelectorAll("input[type=number]")) {
    const field = /** @type {HTMLInputElement} */ (input);
    if (field.closest("[hidden]") || field.validity.valid) continue;
    const label = form.querySelector(`label[for="${field.id}"]`)?.textContent ?? field.name;
    const number = field.step === "any" ? "a number" : "a whole number";
    showError(problem, `${label}: enter ${number} from ${field.min} to ${field.max}.`, field);
    return false;
  }
  return true;
}
