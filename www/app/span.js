/*
 * A span of time marked on a figure, by dragging or with [ and ] at the
 * cursor, to be put into a slot of the step.
 */

import { button, make, setAttribute, setText } from "./dom.js";
import { say } from "./words.js";

/** @import { SpanWords } from "./drawing.js" */
/** @import { Plate } from "./plate.js" */

/** Shades a stretch of a plate and says what it is. */
export class SpanMarker {
    #text = make("span");
    toggle = button(say("Mark a span"), () => this.arm(!this.#armed), { "aria-pressed": "false" });
    root = make("div", { class: "plate__span", hidden: true });
    /** @type {SpanWords | null} */
    #marked = null;
    /** @type {[number, number] | null} */
    #stretch = null;
    #armed = false;

    /**
     * @param {Plate} plate
     * @param {HTMLElement} shade the shade over the figure
     * @param {(value: string) => void} use
     */
    constructor(plate, shade, use) {
        this.plate = plate;
        this.shade = shade;
        const take = button(say("Use this span"), () => use(this.#marked?.value ?? ""));
        this.root.append(this.#text, take, button(say("Forget it"), () => this.forget()));
    }

    /**
     * Whether dragging marks a span instead of zooming.
     *
     * @param {boolean} on
     */
    arm(on) {
        this.#armed = on;
        setAttribute(this.toggle, "aria-pressed", on ? "true" : "false");
    }

    /** The span that is marked, as it is typed into a slot. */
    value() {
        return this.#marked?.value ?? null;
    }

    /** Takes the mark away, as when a new plan was drawn beneath it. */
    forget() {
        this.#stretch = null;
        this.#marked = null;
        this.#show();
    }

    /**
     * A stretch is being framed.
     *
     * @param {number} x0
     * @param {number} x1
     */
    frame(x0, x1) {
        this.#stretch = [x0, x1];
        this.#show();
    }

    /**
     * The stretch was framed; false leaves it to be zoomed into.
     *
     * @param {number} x0
     * @param {number} x1
     */
    framed(x0, x1) {
        if (!this.#armed || this.plate.frame?.scale !== "time") {
            this.forget();
            return false;
        }
        this.#settle([x0, x1]);
        return true;
    }

    /** @param {number} x */
    begin(x) {
        this.#settle([x, Math.max(this.#stretch?.[1] ?? x, x)]);
    }

    /** @param {number} x */
    end(x) {
        this.#settle([Math.min(this.#stretch?.[0] ?? x, x), x]);
    }

    /** @param {[number, number]} stretch */
    #settle(stretch) {
        this.#stretch = stretch;
        const { plan, drawing } = this.plate;
        if (plan !== null) {
            const told = drawing.span_words(plan, Math.min(...stretch), Math.max(...stretch));
            this.#marked = told === undefined ? null : JSON.parse(told);
        }
        this.#show();
    }

    #show() {
        const { frame } = this.plate;
        const stretch = this.#stretch;
        this.shade.hidden = stretch === null || frame === null;
        this.root.hidden = this.#marked === null;
        setText(this.#text, this.#marked?.text ?? "");
        if (stretch !== null && frame !== null) {
            const within = (/** @type {number} */ x) =>
                Math.min(Math.max(x, frame.left), frame.right);
            const left = within(Math.min(...stretch));
            this.shade.style.left = `${left}px`;
            this.shade.style.width = `${within(Math.max(...stretch)) - left}px`;
            this.shade.style.top = `${frame.top}px`;
            this.shade.style.height = `${frame.bottom - frame.top}px`;
        }
    }
}
