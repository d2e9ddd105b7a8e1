/*
 * Which part of a figure is shown.  Figures over time share one span, so that
 * a storm stays in sight from step to step; any other figure has its own.
 */

/** @import { Zoom } from "./protocol.js" */

/** @typedef {"time" | "log" | "linear"} Scale */
/** @typedef {[number, number]} Range */

/** @type {Zoom} */
const WHOLE = { x: null, y: null };

/**
 * A range moved or cut so that it stays within the whole.
 *
 * @param {Range} range
 * @param {Range} whole
 * @param {Scale} scale
 * @returns {Range | null} null when it is the whole
 */
export function keepInside(range, whole, scale) {
    const isLog = scale === "log";
    const [lo, hi] = range;
    const [from, to] = whole;
    const width = isLog ? hi / lo : hi - lo;
    const room = isLog ? to / from : to - from;
    if (!(width > (isLog ? 1 : 0)) || width >= room) {
        return null;
    }
    const add = (/** @type {number} */ at) => (isLog ? at * width : at + width);
    if (lo < from) {
        return [from, add(from)];
    }
    if (hi > to) {
        return [isLog ? to / width : to - width, to];
    }
    return [lo, hi];
}

/** Remembers the zoom of each figure, and the way back. */
export class Zooms {
    /** @type {Map<string, Zoom>} */
    #shown = new Map();
    /** @type {Map<string, Scale>} */
    #scales = new Map();
    /** @type {{ place: string, zoom: Zoom }[]} */
    #earlier = [];

    /** @param {string} figure */
    #place(figure) {
        return this.#scales.get(figure) === "time" ? "time" : figure;
    }

    /**
     * What a plan told of its horizontal axis.
     *
     * @param {string} figure
     * @param {Scale} scale
     */
    learn(figure, scale) {
        this.#scales.set(figure, scale);
    }

    /**
     * @param {string} figure
     * @returns {Zoom}
     */
    of(figure) {
        return this.#shown.get(this.#place(figure)) ?? WHOLE;
    }

    /** @param {string} figure */
    isWhole(figure) {
        return this.of(figure).x === null;
    }

    /**
     * @param {string} figure
     * @param {Range | null} x
     * @param {boolean} [keep] whether to keep the way back to the zoom before
     */
    set(figure, x, keep = true) {
        const place = this.#place(figure);
        if (keep) {
            this.#earlier.push({ place, zoom: this.of(figure) });
            this.#earlier.splice(0, this.#earlier.length - 100);
        }
        this.#shown.set(place, { x, y: null });
    }

    /**
     * Goes back to the zoom before; false when there is none.
     *
     * @param {string} figure
     */
    back(figure) {
        const place = this.#place(figure);
        const at = this.#earlier.map((one) => one.place).lastIndexOf(place);
        const [found] = at < 0 ? [] : this.#earlier.splice(at, 1);
        if (found === undefined) {
            return false;
        }
        this.#shown.set(place, found.zoom);
        return true;
    }

    /** Forgets all of it, as for another log. */
    clear() {
        this.#shown.clear();
        this.#scales.clear();
        this.#earlier = [];
    }
}
