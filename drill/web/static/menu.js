// @ts-check
// The list of pages is closed in a narrow window, open in a wide one.
import { byId } from "./elements.js";

const narrow = matchMedia("(max-width: 60rem)");

function fold() {
  byId("menu").open = !narrow.matches;
}

narrow.addEventListener("change", fold);
fold();
