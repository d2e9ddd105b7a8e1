/*
 * The one text that is read out by itself: what the last edit did, and how
 * far long work is.  It speaks after a rest, never once a keystroke.
 */

import { setText } from "./dom.js";
import { say as inWords } from "./words.js";

/** @import { View } from "./protocol.js" */

/** How long edits must rest before what they did is said, milliseconds. */
const REST_MS = 1000;

/** @param {HTMLElement} region */
export function createStatus(region) {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;

    /** @param {string} text */
    function say(text) {
        clearTimeout(timer);
        setText(region, text);
    }

    return {
        say,
        /**
         * Says the remark of the step that was edited, once edits rest.
         *
         * @param {() => string} text made when it is said
         * @param {number} since when the edit was made, on the page's own clock
         */
        later(text, since) {
            clearTimeout(timer);
            const rest = Math.max(since + REST_MS - performance.now(), 0);
            timer = setTimeout(() => setText(region, text()), rest);
        },
    };
}

/**
 * What an edit of a step did, for reading out.
 *
 * @param {View} view
 * @param {number} at
 */
export function effectOf(view, at) {
    const step = view.steps[at];
    if (step === undefined) {
        return view.summary;
    }
    const refused = step.slots.find((slot) => slot.error !== null)?.error;
    const said = refused ?? step.fault?.message ?? step.remark;
    const later = view.changed_after;
    const steps = later === 1 ? inWords("1 later step follows") : inWords("{later} later steps follow", { later });
    return later > 0 && refused === undefined ? `${step.title}: ${said} ${steps}.` : `${step.title}: ${said}`;
}
