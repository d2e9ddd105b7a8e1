/*
 * The cursor of a figure: the pointer and a native slider go from sample to
 * sample as they are drawn, and say the same at the same one.  The text comes
 * from the plan.
 */

import { make, setAttribute, setText } from "./dom.js";
import { say } from "./words.js";

/** @import { Readout } from "./drawing.js" */
/** @import { Plate } from "./plate.js" */

/** Half the thumb of a slider, so that it stands about where the sample does. */
const HALF_THUMB_PX = 8;

/** Follows the pointer and the arrow keys over a plate. */
export class Cursor {
    root = make("input", {
        type: "range",
        min: "0",
        step: "1",
        "aria-label": say("Cursor on the figure"),
        title: say("Arrows move it; + and − zoom, 0 shows all, [ and ] mark a span"),
    });
    readout = make("p", { class: "plate__readout" });
    /** @type {Plate | null} */
    #plate = null;
    /** @type {Readout | null} */
    #at = null;
    /** @type {string | null} */
    #scale = null;

    /**
     * @param {HTMLElement} line
     * @param {HTMLElement} room
     */
    constructor(line, room) {
        this.line = line;
        this.room = room;
        this.root.addEventListener("input", () => this.#toStop(Number(this.root.value)));
        this.root.addEventListener("focus", () => this.#toStop(Number(this.root.value)));
        this.root.addEventListener("keydown", ({ key }) => key === "Escape" && this.hide());
    }

    /** Where the cursor stands, across; the middle of the figure before it was moved. */
    place() {
        const { left, right } = this.#plate?.frame ?? { left: 0, right: 0 };
        return this.#at?.x_px ?? (left + right) / 2;
    }

    /**
     * The pointer is here.
     *
     * @param {number} x
     * @param {number} y
     */
    point(x, y) {
        const plate = this.#plate;
        if (plate?.plan) {
            this.#show(plate.drawing.readout(plate.plan, x, y));
        }
    }

    /** @param {number} stop */
    #toStop(stop) {
        const plate = this.#plate;
        if (plate?.plan) {
            const panel = this.#at?.panel ?? 0;
            this.#show(plate.drawing.readout_at_stop(plate.plan, panel, stop));
        }
    }

    /**
     * A plan was drawn anew: the cursor stays at its place in the data.
     *
     * @param {Plate} plate
     */
    follow(plate) {
        this.#plate = plate;
        const { plan, frame, drawing } = plate;
        if (plan === null || frame === null) {
            this.hide();
            return;
        }
        // Another figure may have fewer panels, and a place in time means nothing along frequency.
        if (frame.scale !== this.#scale || drawing.stops(plan, this.#at?.panel ?? 0) === 0) {
            this.#at = null;
        }
        this.#scale = frame.scale;
        const panel = this.#at?.panel ?? 0;
        const count = drawing.stops(plan, panel);
        this.root.max = String(Math.max(count - 1, 0));
        const before = Math.max(frame.left - HALF_THUMB_PX, 0);
        const after = Math.max(this.room.clientWidth - frame.right - HALF_THUMB_PX, 0);
        this.root.style.marginInlineStart = `${before}px`;
        this.root.style.width = `calc(100% - ${before + after}px)`;
        if (this.#at !== null && count > 0) {
            this.#toStop(drawing.stop_near(plan, panel, this.#at.x_data));
        } else {
            this.hide();
        }
    }

    hide() {
        this.#at = null;
        this.root.value = "0";
        this.line.hidden = true;
        setText(this.readout, "");
        setAttribute(this.root, "aria-valuetext", say("not on the figure"));
    }

    // The time by this machine's zone; the engine words it.
    /** @param {number} seconds */
    #here(seconds) {
        if (this.#plate?.frame?.scale !== "time") {
            return "";
        }
        const ahead = -new Date(seconds * 1000).getTimezoneOffset();
        return this.#plate.drawing.local_words(seconds, ahead);
    }

    /** @param {string | undefined} told */
    #show(told) {
        if (told === undefined) {
            this.hide();
            return;
        }
        const found = /** @type {Readout} */ (JSON.parse(told));
        this.#at = found;
        this.root.value = String(found.stop);
        const text = `${found.text}${this.#here(found.x_data)}`;
        setText(this.readout, text);
        setAttribute(this.root, "aria-valuetext", text);
        this.line.hidden = false;
        this.line.style.left = `${found.x_px}px`;
        this.line.style.top = `${found.top_px}px`;
        this.line.style.height = `${found.bottom_px - found.top_px}px`;
    }
}
