/*
 * Where a log came from, how it is asked for, and the two ways in which an
 * answer can fail to come.
 */

import { say } from "./words.js";

/** @import { Ask, Fault, View } from "./protocol.js" */

/**
 * What a log was opened from, and the decisions of its reading that the
 * student changed: all that it takes to open it again.
 *
 * @typedef {{ kind: "file", file: File, choices: Record<string, string> }
 *     | { kind: "demo", name: string, choices: Record<string, string> }} Source
 */

/** The fault of a request that was given up. */
export const CANCELLED = "page/cancelled";

/** The fault of a request whose worker died. */
export const ENDED = "page/engine-ended";

/** @type {Fault} */
export const cancelled = { code: CANCELLED, message: "Cancelled.", place: "", remedy: "" };

/**
 * @param {string} why
 * @param {boolean} again whether the logs are being opened again
 * @returns {Fault}
 */
export function endedBy(why, again) {
    const remedy = again
        ? say("Your logs are being opened again; the last change was left out.")
        : say("Load the page again. If it stays so, a smaller log may be what this machine can hold.");
    return { code: ENDED, message: say("The engine stopped: {why}.", { why }), place: "", remedy };
}

/**
 * @param {Source} source
 * @param {number | null} place
 * @param {boolean} more
 * @returns {Ask}
 */
export function openingOf(source, place, more) {
    const reading = { choices: source.choices, place, more };
    return source.kind === "file"
        ? { type: "open", file: source.file, ...reading }
        : { type: "demo", name: source.name, ...reading };
}

/**
 * The logs that a procedure just opened wants read otherwise, by their places.
 *
 * @param {View} view
 * @param {Source[]} sources
 * @returns {[number, Source][]}
 */
export function rereadsOf(view, sources) {
    return view.rereads.flatMap(({ input, set }) => {
        const source = sources[input];
        return source === undefined ? [] : [[input, { ...source, choices: set }]];
    });
}
