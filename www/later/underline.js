/*
 * Dots under the words of the glossary, where they first stand in each paragraph.
 * They are painted over the text and change nothing in it: a screen reader hears
 * whole sentences, and Tab goes the way it went.  Where a browser cannot paint
 * so, the words are still listed in every opened Why.
 */

/** @import { Glossary } from "./glossary.js" */

/** The texts that may hold a word. */
export const TEXTS =
    ".step__sentence, .step__remark, .step__note, .remark-list li, .why dd, .plate__caption, " +
    ".plate__words, .decision > p, .entry__evidence, .handin__methods p";

/** @typedef {{ id: string, range: Range }} Place */

/** @type {Place[]} */
let places = [];

/**
 * @param {Glossary} glossary
 * @param {Element} within
 */
export function underline(glossary, within) {
    if (typeof Highlight !== "function") {
        return;
    }
    places = [...within.querySelectorAll(TEXTS)].flatMap((text) => placesIn(glossary, text));
    // In forced colours a browser would fill the words' ground, louder than a sentence bears.
    const isPainted = !matchMedia("(forced-colors: active)").matches;
    CSS.highlights.set("words", new Highlight(...(isPainted ? places : []).map(({ range }) => range)));
}

/**
 * @param {Glossary} glossary
 * @param {Element} text
 * @returns {Place[]}
 */
function placesIn(glossary, text) {
    const seen = new Set();
    /** @type {Place[]} */
    const found = [];
    const walk = document.createTreeWalker(text, NodeFilter.SHOW_TEXT, (node) =>
        node.parentElement?.closest("option, select") ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT);
    while (walk.nextNode()) {
        const node = walk.currentNode;
        for (const { id, at, length } of glossary.find(node.textContent ?? "")) {
            if (!seen.has(id)) {
                seen.add(id);
                const range = document.createRange();
                range.setStart(node, at);
                range.setEnd(node, at + length);
                found.push({ id, range });
            }
        }
    }
    return found;
}

/**
 * The word at a point of the window.
 *
 * @param {number} x
 * @param {number} y
 * @returns {{ id: string, rect: DOMRect } | null}
 */
export function wordAt(x, y) {
    for (const { id, range } of places) {
        for (const rect of range.getClientRects()) {
            if (x >= rect.left && x <= rect.right && y >= rect.top && y <= rect.bottom) {
                return { id, rect };
            }
        }
    }
    return null;
}
