/*
 * Edits on their way to the engine: one at a time, and of what is being typed
 * into a slot only the newest.  An edit names its step by key, since steps
 * come and go while it waits.
 */

/** @import { Edit, Fault, View } from "./protocol.js" */

/**
 * An edit whose step is named by its key.
 *
 * @typedef {{ key: string, edit: (step: number) => Edit, typing?: string }
 *     | { key: null, edit: () => Edit, typing?: undefined }} Change
 */

/**
 * @typedef {object} Queued
 * @property {Change} change
 * @property {() => void} settle
 */

/** Sends changes one after another. */
export class EditQueue {
    /** @type {Queued[]} */
    #queue = [];
    #sending = false;

    /**
     * @param {object} given
     * @param {(edit: Edit) => Promise<View>} given.send
     * @param {() => string[]} given.keys the keys of the steps as they now are
     * @param {(view: View, change: Change) => void} given.onView
     * @param {(fault: Fault) => void} given.onFault
     */
    constructor({ send, keys, onView, onFault }) {
        this.send = send;
        this.keys = keys;
        this.onView = onView;
        this.onFault = onFault;
    }

    /**
     * Queues a change; the promise settles when it was done or refused.
     *
     * @param {Change} change
     * @returns {Promise<void>}
     */
    push(change) {
        return new Promise((settle) => {
            if (change.typing !== undefined) {
                this.#forget(change.key, change.typing);
            }
            this.#queue.push({ change, settle });
            void this.#run();
        });
    }

    // What was typed into the same slot before and is still waiting is no
    // longer wanted.
    /**
     * @param {string | null} key
     * @param {string} typing
     */
    #forget(key, typing) {
        const isOlder = (/** @type {Queued} */ { change }) =>
            change.key === key && change.typing === typing;
        this.#queue.filter(isOlder).forEach(({ settle }) => settle());
        this.#queue = this.#queue.filter((queued) => !isOlder(queued));
    }

    async #run() {
        if (this.#sending) {
            return;
        }
        this.#sending = true;
        for (let queued = this.#queue.shift(); queued; queued = this.#queue.shift()) {
            await this.#do(queued.change);
            queued.settle();
        }
        this.#sending = false;
    }

    /** @param {Change} change */
    async #do(change) {
        const step = change.key === null ? 0 : this.keys().indexOf(change.key);
        if (step < 0) {
            return;
        }
        try {
            this.onView(await this.send(change.edit(step)), change);
        } catch (fault) {
            this.onFault(/** @type {Fault} */ (fault));
        }
    }
}
