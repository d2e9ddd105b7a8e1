/*
 * How far long work is, with a way to give it up.  Short work shows nothing.
 */

import { byId, setText } from "./dom.js";

/** Work shorter than this shows nothing, milliseconds. */
const PATIENCE_MS = 300;

/** Work shorter than this is not spoken of: what it did is said soon after, milliseconds. */
const SILENCE_MS = 2000;

/** @param {(text: string) => void} say */
export function mountBusy(say) {
    const root = byId("busy", HTMLElement);
    const label = byId("busy-what", HTMLElement);
    const bar = byId("busy-bar", HTMLProgressElement);
    const cancel = byId("cancel", HTMLButtonElement);
    /** @type {(() => void) | null} */
    let giveUp = null;
    let quarter = 0;
    let began = 0;
    // Newer work takes the bar over from what it makes needless.
    let newest = 0;
    cancel.addEventListener("click", () => giveUp?.());

    /**
     * @param {number} fraction
     * @param {string} doing
     */
    function show(fraction, doing) {
        setText(label, doing);
        bar.value = fraction;
        const reached = Math.floor(fraction * 4);
        if (reached > quarter && performance.now() - began > SILENCE_MS) {
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
            const mine = ++newest;
            giveUp = onCancel;
            quarter = 0;
            began = performance.now();
            show(0, doing);
            const timer = setTimeout(() => {
                root.hidden = false;
            }, PATIENCE_MS);
            try {
                return await work((fraction, what) => mine === newest && show(fraction, what));
            } finally {
                clearTimeout(timer);
                if (mine === newest) {
                    root.hidden = true;
                    giveUp = null;
                }
            }
        },
    };
}
