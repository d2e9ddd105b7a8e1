/* What was asked of the worker and is not answered yet. */

/** @import { Ask } from "../app/protocol.js" */

/** @typedef {Ask & { id: number }} Asked */

/** A queue that long work can look into between its steps. */
export class Inbox {
    /** @type {Asked[]} */
    #asks = [];
    /** @type {(() => void) | null} */
    #wake = null;

    /** @param {Asked} ask */
    put(ask) {
        this.#asks.push(ask);
        this.#wake?.();
    }

    take() {
        return this.#asks.shift();
    }

    /**
     * Takes out those that fit.
     *
     * @param {(ask: Asked) => boolean} fits
     */
    takeAll(fits) {
        const taken = this.#asks.filter(fits);
        this.#asks = this.#asks.filter((ask) => !taken.includes(ask));
        return taken;
    }

    /** @param {Ask["type"]} type */
    holds(type) {
        return this.#asks.some((ask) => ask.type === type);
    }

    /**
     * Lets messages come in: until one does, or for so long.
     *
     * @param {number} ms
     * @returns {Promise<void>}
     */
    wait(ms) {
        return new Promise((done) => {
            const timer = setTimeout(() => this.#wake?.(), ms);
            this.#wake = () => {
                this.#wake = null;
                clearTimeout(timer);
                done();
            };
        });
    }
}
