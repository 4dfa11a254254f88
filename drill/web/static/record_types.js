// @ts-check
// The files that a record is saved as.

/** Media types by file extension. @type {Record<string, string>} */
export const MEDIA_TYPES = { csv: "text/csv", jsonl: "application/jsonl" };
