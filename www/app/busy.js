/*
 * How far long work is, with a way to give it up.  Short work shows nothing.
 */

import { byId, setText } from "./dom.js";

/** Work shorter than this shows nothing, milliseconds. */
const PATIENCE_MS = 300;

/** @param {(text: string) => void} say */
export function mountBusy(say) {
    const root = byId("busy", HTMLElement);
    const what = byId("busy-what", HTMLElement);
    const bar = byId("busy-bar", HTMLProgressElement);
    const cancel = byId("cancel", HTMLButtonElement);
    /** @type {(() => void) | null} */
    let giveUp = null;
    let quarter = 0;
    cancel.addEventListener("click", () => giveUp?.());

    /**
     * @param {number} fraction
     * @param {string} doing
     */
    function show(fraction, doing) {
        setText(what, doing);
        bar.value = fraction;
        const reached = Math.floor(fraction * 4);
        if (!root.hidden && reached > quarter) {
            quarter = reached;
            say(`${doing}: ${reached * 25} %`);
        }
    }

    return {
        /**
         * Shows the progress of some work until it settles.
         *
         * @template T
         * @param {string} doing
         * @param {() => void} onCancel
         * @param {(tell: (fraction: number, doing: string) => void) => Promise<T>} work
         * @returns {Promise<T>}
         */
        async during(doing, onCancel, work) {
            giveUp = onCancel;
            quarter = 0;
            show(0, doing);
            const timer = setTimeout(() => {
                root.hidden = false;
            }, PATIENCE_MS);
            try {
                return await work(show);
            } finally {
                clearTimeout(timer);
                root.hidden = true;
                giveUp = null;
            }
        },
    };
}
