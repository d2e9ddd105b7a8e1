/*
 * Edits on their way to the engine: one at a time, and of what is being typed
 * into a slot only the newest.  An edit names its step by key, since steps
 * come and go while it waits.
 */

/** @import { Edit, Fault } from "./protocol.js" */

/**
 * An edit whose step is named by its key.
 *
 * @typedef {{ key: string, edit: (step: number, by: number) => Edit, typing?: string, by?: number }
 *     | { key: null, edit: () => Edit, typing?: undefined, by?: undefined }} Change
 */

/**
 * @typedef {object} Queued
 * @property {Change} change
 * @property {(() => void)[]} settle
 */

/** Sends changes one after another. */
export class EditQueue {
    /** @type {Queued[]} */
    #queue = [];
    #sending = false;

    /**
     * @param {object} given
     * @param {(edit: Edit, key: string | null) => Promise<void>} given.send settles
     *     when the answer is shown
     * @param {() => string[]} given.keys the keys of the steps as they now are
     * @param {(fault: Fault) => void} given.onFault
     */
    constructor({ send, keys, onFault }) {
        this.send = send;
        this.keys = keys;
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
            if (this.#joins(change, settle)) {
                return;
            }
            if (change.typing !== undefined && change.by === undefined) {
                this.#forget(change.key, change.typing);
            }
            this.#queue.push({ change, settle: [settle] });
            void this.#run();
        });
    }

    // Steps of the arrow keys that wait together are one step as long as all.
    /**
     * @param {Change} change
     * @param {() => void} settle
     */
    #joins(change, settle) {
        const last = this.#queue.at(-1);
        const isSame = last?.change.key === change.key && last?.change.typing === change.typing;
        if (!isSame || last?.change.by === undefined || change.by === undefined) {
            return false;
        }
        last.change = { ...last.change, by: last.change.by + change.by };
        last.settle.push(settle);
        return true;
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
        this.#queue.filter(isOlder).flatMap(({ settle }) => settle).forEach((settle) => settle());
        this.#queue = this.#queue.filter((queued) => !isOlder(queued));
    }

    async #run() {
        if (this.#sending) {
            return;
        }
        this.#sending = true;
        for (let queued = this.#queue.shift(); queued; queued = this.#queue.shift()) {
            await this.#do(queued.change);
            queued.settle.forEach((settle) => settle());
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
            await this.send(change.edit(step, change.by ?? 0), change.key);
        } catch (fault) {
            this.onFault(/** @type {Fault} */ (fault));
        }
    }
}
