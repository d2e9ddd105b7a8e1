/* A sentence with slots: what must not be parted by the end of a line stays together. */

import { make } from "./dom.js";

/** A sign that belongs to the slot after it. */
const SIGN_BEFORE = /[±(−]$/;

/** A mark that belongs to the slot before it. */
const MARK_AFTER = /^[.,;:)]/;

/**
 * @param {(string | HTMLElement)[]} pieces texts and slots, in order
 * @returns {(string | HTMLElement)[]}
 */
export function holdTogether(pieces) {
    /** @type {(string | HTMLElement)[]} */
    const out = [];
    /** @type {HTMLElement | null} */
    let held = null;
    let sign = "";
    for (const piece of pieces) {
        if (typeof piece === "string") {
            const mark = held === null ? "" : first(piece, MARK_AFTER);
            held?.append(mark);
            const text = piece.slice(mark.length);
            sign = first(text, SIGN_BEFORE);
            out.push(text.slice(0, text.length - sign.length));
            held = null;
        } else {
            // A slot with a button beside it is too wide to be kept whole.
            const isWide = piece.querySelector("button") !== null;
            held = make("span", { class: isWide ? null : "slot__held" }, sign, piece);
            sign = "";
            out.push(held);
        }
    }
    return sign === "" ? out : [...out, sign];
}

/**
 * @param {string} text
 * @param {RegExp} wanted
 */
function first(text, wanted) {
    return text.match(wanted)?.[0] ?? "";
}
