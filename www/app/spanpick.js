/* Brings a span that is marked on a figure into the slot that waits for one. */

import { byId } from "./dom.js";
import { say } from "./words.js";

/** @import { App } from "./app.js" */

/** @typedef {{ key: string, param: string }} Place */

/** Remembers which slot waits. */
export class SpanPicker {
    /** @type {Place | null} */
    #waits = null;

    /** @param {App} app */
    constructor(app) {
        this.app = app;
    }

    /**
     * A slot asks for the span on the figure; without one, the figure is made
     * ready for marking.
     *
     * @param {Place} place
     */
    pick(place) {
        this.#waits = place;
        const span = this.app.plates?.span;
        const value = span?.value() ?? null;
        if (value !== null) {
            this.use(value);
            return;
        }
        span?.arm(true);
        this.app.status.say(say("Drag over the figure, or mark both ends with [ and ] at its cursor."));
        byId("plates", HTMLElement).focus();
    }

    /** @param {string} value */
    use(value) {
        const place = this.#waits ?? this.#ownSlot();
        if (place === null) {
            this.app.status.say(say("The step in hand has no place for a span."));
            return;
        }
        this.#waits = null;
        this.app.plates?.span.arm(false);
        const { key, param } = place;
        void this.app.queue.push({
            key,
            edit: (step) => ({ kind: "set", step, param, value, live: false }),
        });
    }

    /** @returns {Place | null} */
    #ownSlot() {
        const { view, inHand } = this.app.store.get();
        const step = view?.steps[this.app.keys().indexOf(inHand ?? "")];
        const slot = step?.slots.find((one) => one.kind === "span");
        return slot === undefined || inHand === null ? null : { key: inHand, param: slot.key };
    }
}
