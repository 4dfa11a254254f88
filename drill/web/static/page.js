// @ts-check
// What every page does: the list of pages folds where the window is narrow.

const menu = /** @type {HTMLDetailsElement} */ (document.getElementById("menu"));
const narrow = matchMedia("(max-width: 60rem)");

function fold() {
  menu.open = !narrow.matches;
}

narrow.addEventListener("change", fold);
fold();
