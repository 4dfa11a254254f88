// @ts-check
// The file types in which a record is saved.

/** Media types by file extension. @type {Record<string, string>} */
export const MEDIA_TYPES = { csv: "text/csv", jsonl: "application/jsonl" };
