// @ts-check
// A page of the manual: wide tables and command lines scroll in frames of their own.
import { scrollable } from "./elements.js";

for (const content of document.querySelectorAll("#manual :is(table, pre)")) {
  const kind = content.tagName === "TABLE" ? "Table" : "Commands";
  const marker = document.createComment("");
  content.replaceWith(marker);
  marker.replaceWith(scrollable(content, kind));
}
