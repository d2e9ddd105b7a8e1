/* Names of saved files: plain ASCII, short, and telling. */

const LONGEST = 60;

/** @param {string} text */
function plain(text) {
    return text
        .normalize("NFKD")
        .replace(/[^A-Za-z0-9]+/g, "-")
        .replace(/^-+|-+$/g, "")
        .toLowerCase();
}

/**
 * `<log>-<what>-<date>.<ending>`, at most 60 characters; the log's name gives
 * way first.
 *
 * @param {string} log name of the log's file
 * @param {string} what
 * @param {string} date as 2026-05-01, or empty
 * @param {string} ending
 */
export function fileName(log, what, date, ending) {
    const tail = [plain(what), plain(date)].filter((part) => part !== "").join("-");
    const room = LONGEST - tail.length - ending.length - 2;
    const head = plain(log.replace(/\.[^.]*$/, "")).slice(0, Math.max(room, 0)) || "log";
    return `${head.replace(/-+$/, "")}-${tail}.${ending}`;
}
