// @ts-check
// Saves bytes as a file on this computer.
import { element } from "./elements.js";

/**
 * Save a file; the browser asks for the folder, or uses its download folder.
 * @param {BlobPart} content
 * @param {string} type media type
 * @param {string} name of the file
 */
export function saveFile(content, type, name) {
  const href = URL.createObjectURL(new Blob([content], { type }));
  element("a", { href, download: name }).click();
  URL.revokeObjectURL(href);
}
