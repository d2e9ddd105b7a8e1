/*
 * One plate: the plan of a figure on a canvas, asked for anew whenever the
 * procedure, the room or the zoom has changed.  While an answer is awaited
 * the last one stays.
 */

import { setAttribute } from "./dom.js";
import { palette } from "./palette.js";
import { keepInside, Zooms } from "./zoom.js";

/** @import { Drawing, PlanFrame, PlanWords } from "./drawing.js" */
/** @import { PlanAsk } from "./protocol.js" */
/** @import { Range } from "./zoom.js" */

/** @typedef {{ step: number, key: string, figure: string, seq: number }} Wanted */

/** More pixels than this a side of a CSS pixel cost memory and show nothing. */
const SHARPEST = 2;

/** Shows one figure at a time. */
export class Plate {
    zooms = new Zooms();
    /** @type {Uint8Array | null} */
    plan = null;
    /** @type {PlanFrame | null} */
    frame = null;
    /** @type {Range | null} */
    whole = null;
    /** @type {Wanted | null} */
    #wanted = null;
    /** @type {Uint8Array | null} */
    #held = null;
    /** @type {string | null} */
    #drawn = null;
    #asking = false;
    #again = false;

    /**
     * @param {object} given
     * @param {HTMLElement} given.root
     * @param {HTMLElement} given.room
     * @param {HTMLCanvasElement} given.canvas
     * @param {Drawing} given.drawing
     * @param {(ask: PlanAsk) => Promise<Uint8Array>} given.ask
     * @param {(words: PlanWords | null) => void} given.onDrawn
     */
    constructor({ root, room, canvas, drawing, ask, onDrawn }) {
        this.root = root;
        this.room = room;
        this.canvas = canvas;
        this.drawing = drawing;
        this.ask = ask;
        this.onDrawn = onDrawn;
        new ResizeObserver(() => this.refresh()).observe(room);
    }

    /** Name by which the zoom of the figure is kept. */
    get name() {
        return this.#wanted === null ? "" : nameOf(this.#wanted);
    }

    get wanted() {
        return this.#wanted;
    }

    /** @param {Wanted | null} wanted */
    show(wanted) {
        const before = this.#wanted;
        this.#wanted = wanted;
        if (wanted === null) {
            this.#clear();
        } else if (before === null || nameOf(before) !== nameOf(wanted) || before.seq !== wanted.seq) {
            this.refresh();
        }
    }

    /** Forgets the figure and gives its pixels back. */
    #clear() {
        this.plan = null;
        this.#drawn = null;
        this.canvas.width = 1;
        this.canvas.height = 1;
        this.onDrawn(null);
    }

    /** Asks for the plan as it should now be; newer wishes wait for one answer. */
    refresh() {
        if (this.#asking) {
            this.#again = true;
            return;
        }
        void this.#run();
    }

    async #run() {
        this.#asking = true;
        do {
            this.#again = false;
            await this.#once();
        } while (this.#again);
        this.#asking = false;
    }

    async #once() {
        const wanted = this.#wanted;
        const width = this.room.clientWidth;
        const height = this.room.clientHeight;
        if (wanted === null || width < 40 || height < 40) {
            return;
        }
        const name = nameOf(wanted);
        setAttribute(this.root, "data-stale", this.#drawn !== null && this.#drawn !== name);
        const zoom = this.zooms.of(name);
        const { step, figure } = wanted;
        try {
            const plan = await this.ask({ type: "plan", step, figure, width, height, zoom });
            if (this.#wanted !== null && nameOf(this.#wanted) === name) {
                this.#take(plan, name);
            }
        } catch {
            // The step lost its figure, or the engine was ended: the next view
            // says so in words, and this plate waits for it.
            setAttribute(this.root, "data-stale", true);
        }
    }

    /**
     * @param {Uint8Array} plan
     * @param {string} name
     */
    #take(plan, name) {
        const frame = /** @type {PlanFrame} */ (JSON.parse(this.drawing.plan_frame(plan)));
        this.plan = plan;
        this.frame = frame;
        this.#drawn = name;
        const wasWhole = this.zooms.isWhole(name);
        this.zooms.learn(name, frame.scale);
        if (wasWhole) {
            this.whole = this.span(frame.left, frame.right);
        }
        if (wasWhole !== this.zooms.isWhole(name)) {
            this.#again = true;
        }
        this.draw();
        setAttribute(this.root, "data-stale", false);
        this.onDrawn(JSON.parse(this.drawing.plan_words(plan)));
    }

    /** Draws the plan that is there, as after a change of colours. */
    draw() {
        if (this.plan === null) {
            return;
        }
        const ratio = Math.min(window.devicePixelRatio || 1, SHARPEST);
        const width = Math.round(this.room.clientWidth * ratio);
        const height = Math.round(this.room.clientHeight * ratio);
        if (this.canvas.width !== width || this.canvas.height !== height) {
            this.canvas.width = width;
            this.canvas.height = height;
        }
        this.drawing.draw(this.canvas, this.plan, palette(), ratio);
    }

    /**
     * The span of data between two places across.
     *
     * @param {number} x0
     * @param {number} x1
     * @returns {Range | null}
     */
    span(x0, x1) {
        if (this.plan === null) {
            return null;
        }
        const [lo, hi] = this.drawing.data_span(this.plan, x0, x1);
        return lo === undefined || hi === undefined ? null : [lo, hi];
    }

    /**
     * Shows what stands between two places across.
     *
     * @param {number} x0
     * @param {number} x1
     * @param {boolean} [keep]
     */
    window(x0, x1, keep = true) {
        const range = this.span(x0, x1);
        if (range === null || this.frame === null || !this.frame.zooms) {
            return;
        }
        const whole = this.whole;
        const inside = whole === null ? range : keepInside(range, whole, this.frame.scale);
        this.zooms.set(this.name, inside, keep);
        this.refresh();
    }

    /**
     * Zooms about a place across; a factor above 1 comes nearer.
     *
     * @param {number} factor
     * @param {number} x
     */
    zoom(factor, x) {
        if (this.frame !== null) {
            const { left, right } = this.frame;
            this.window(x - (x - left) / factor, x + (right - x) / factor);
        }
    }

    /** Remembers the plan under the hand, for {@link panHeld}. */
    hold() {
        this.#held = this.plan;
    }

    /**
     * Moves the window by pixels, counted on the plan that was held: newer
     * plans come in while the hand moves.
     *
     * @param {number} dx
     */
    panHeld(dx) {
        if (this.#held === null || this.frame === null || this.zooms.isWhole(this.name)) {
            return;
        }
        const { left, right, scale } = this.frame;
        const [lo, hi] = this.drawing.data_span(this.#held, left - dx, right - dx);
        if (lo !== undefined && hi !== undefined && this.whole !== null) {
            this.zooms.set(this.name, keepInside([lo, hi], this.whole, scale), false);
            this.refresh();
        }
    }

    /**
     * Moves the window by a share of its width.
     *
     * @param {number} share
     */
    slide(share) {
        if (this.frame !== null && !this.zooms.isWhole(this.name)) {
            const { left, right } = this.frame;
            const by = share * (right - left);
            this.window(left + by, right + by);
        }
    }

    reset() {
        if (!this.zooms.isWhole(this.name)) {
            this.zooms.set(this.name, null);
            this.refresh();
        }
    }

    back() {
        if (this.zooms.back(this.name)) {
            this.refresh();
        }
    }
}

/** @param {Wanted} wanted */
function nameOf(wanted) {
    return `${wanted.key}/${wanted.figure}`;
}
