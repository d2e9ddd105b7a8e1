/*
 * The cursor of a figure: the pointer's place and a native slider say the
 * same thing at the same sample.  The text comes from the plan.
 */

import { make, setAttribute, setText } from "./dom.js";

/** @import { Readout } from "./drawing.js" */
/** @import { Plate } from "./plate.js" */

/** Half the thumb of a slider, so that its middle stands at the sample. */
const HALF_THUMB_PX = 8;

/** Follows the pointer and the arrow keys over a plate. */
export class Cursor {
    root = make("input", {
        type: "range",
        step: "1",
        "aria-label": "Cursor on the figure",
        title: "Arrows move it; + and − zoom, 0 shows all, [ and ] mark a span",
    });
    readout = make("output", { class: "plate__readout", "aria-live": "off" });
    /** @type {Plate | null} */
    #plate = null;
    #height = 0;

    /**
     * @param {HTMLElement} line
     * @param {HTMLElement} room
     */
    constructor(line, room) {
        this.line = line;
        this.room = room;
        this.root.addEventListener("input", () => this.#read());
        this.root.addEventListener("keydown", ({ key }) => key === "Escape" && this.#hide());
    }

    /** Where the cursor stands, across. */
    place() {
        return Number(this.root.value);
    }

    /**
     * @param {number} x
     * @param {number} y
     */
    point(x, y) {
        this.root.value = String(x);
        this.#height = y;
        this.#read();
    }

    /**
     * A plan was drawn anew.
     *
     * @param {Plate} plate
     */
    follow(plate) {
        this.#plate = plate;
        if (plate.frame === null) {
            this.#hide();
            return;
        }
        const { left, right, top, bottom } = plate.frame;
        this.root.min = String(Math.ceil(left));
        this.root.max = String(Math.floor(right));
        this.#height = Math.min(Math.max(this.#height, top + 1), bottom - 1);
        const before = Math.max(left - HALF_THUMB_PX, 0);
        const after = Math.max(this.room.clientWidth - right - HALF_THUMB_PX, 0);
        this.root.style.marginInlineStart = `${before}px`;
        this.root.style.width = `calc(100% - ${before + after}px)`;
        if (!this.line.hidden || document.activeElement === this.root) {
            this.#read();
        }
    }

    #hide() {
        this.line.hidden = true;
        setText(this.readout, "");
    }

    #read() {
        const plate = this.#plate;
        if (plate === null || plate.plan === null) {
            return;
        }
        const told = plate.drawing.readout(plate.plan, this.place(), this.#height);
        if (told === undefined) {
            this.#hide();
            setAttribute(this.root, "aria-valuetext", "no sample here");
            return;
        }
        const found = /** @type {Readout} */ (JSON.parse(told));
        setText(this.readout, found.text);
        setAttribute(this.root, "aria-valuetext", found.text);
        this.line.hidden = false;
        this.line.style.left = `${found.x_px}px`;
        this.line.style.top = `${found.top_px}px`;
        this.line.style.height = `${found.bottom_px - found.top_px}px`;
    }
}
