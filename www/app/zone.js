/*
 * Time zones by name: which offsets from UTC held when, as the browser's own
 * list of zones has them.  The engine reads and says them; here they are only
 * looked up.
 */

const HOUR = 3_600_000;

/** How long a log's zone is looked up before its first and after its last time. */
const MARGIN = 26 * HOUR;

/** @returns {string[]} every zone that the browser knows */
export function zones() {
    return Intl.supportedValuesOf("timeZone");
}

/**
 * The offsets of a zone over a span, with the instants from which they hold, as
 * the engine takes them: `Europe/London +00:00 2026-03-29T01:00:00Z +01:00`.
 *
 * @param {string} name
 * @param {[string | null, string | null]} span first and last time, ISO 8601
 * @returns {string | null} null when the browser knows no such zone
 */
export function offsetsOf(name, [start, end]) {
    const offset = offsetReader(name);
    if (offset === null || start === null || end === null) {
        return null;
    }
    const last = Date.parse(end) + MARGIN;
    let at = Math.floor(Date.parse(start) / HOUR) * HOUR - MARGIN;
    let held = offset(at);
    const said = [name, held];
    // No zone changes twice within a day.
    for (let next = at + 24 * HOUR; at < last; at = next, next += 24 * HOUR) {
        const now = offset(next);
        if (now !== held) {
            said.push(isoOf(changeBetween(offset, at, next)), now);
            held = now;
        }
    }
    return said.join(" ");
}

/**
 * The first minute at which another offset holds.
 *
 * @param {(at: number) => string} offset
 * @param {number} before
 * @param {number} after
 */
function changeBetween(offset, before, after) {
    const old = offset(before);
    let [low, high] = [before, after];
    while (high - low > 60_000) {
        const middle = low + Math.floor((high - low) / 120_000) * 60_000;
        if (offset(middle) === old) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}

/** @param {number} at */
function isoOf(at) {
    return new Date(at).toISOString().replace(".000Z", "Z");
}

/**
 * @param {string} name
 * @returns {((at: number) => string) | null}
 */
function offsetReader(name) {
    try {
        const form = new Intl.DateTimeFormat("en", { timeZone: name, timeZoneName: "longOffset" });
        return (at) => {
            const part = form.formatToParts(at).find(({ type }) => type === "timeZoneName");
            return part?.value.replace(/^GMT/, "") || "+00:00";
        };
    } catch {
        return null;
    }
}
