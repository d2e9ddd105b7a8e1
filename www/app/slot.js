/*
 * A slot: a native control set in its sentence.  Typing is tried out live,
 * Enter or leaving commits, Escape restores, arrow keys step.  What a text
 * means and whether it is allowed is decided by the engine.
 */

import { button, make, setAttribute, setText } from "./dom.js";
import { say } from "./words.js";

/** @import { Slot } from "./protocol.js" */

/** How long typing must rest before it is tried out, milliseconds. */
const REST_MS = 120;

/**
 * What a slot asks for.  Each promise settles when the answer is shown.
 *
 * @typedef {object} SlotActs
 * @property {(text: string, live: boolean) => Promise<void>} set
 * @property {(by: number) => Promise<void>} nudge
 * @property {() => Promise<void>} restore
 * @property {() => void} pickSpan
 */

/** @typedef {{ root: HTMLElement, update: (slot: Slot) => void }} MountedSlot */

/** @type {Record<string, number>} */
const STEPS = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 };

/**
 * @param {Slot} slot
 * @param {string} id unique on the page
 * @param {SlotActs} acts
 * @returns {MountedSlot}
 */
export function mountSlot(slot, id, acts) {
    const mounted = slot.kind === "choice" ? mountChoice(id, acts) : mountTyped(slot, id, acts);
    mounted.update(slot);
    return mounted;
}

/**
 * @param {HTMLElement} control
 * @param {string} id
 * @param {string} kind
 */
function frame(control, id, kind) {
    const hint = make("span", { id: `${id}-hint`, hidden: true });
    const box = make("span", { class: `slot slot--${kind}` }, control);
    const unit = make("span", { class: "slot__unit" });
    const held = make("span", { class: "slot__held" }, box, unit);
    const root = make("span", {}, held, hint);
    setAttribute(control, "aria-describedby", `${id}-hint ${id}-refusal`);
    return { root, box, unit, hint };
}

/**
 * Words around a control that are the same for every kind.
 *
 * @param {ReturnType<typeof frame>} parts
 * @param {HTMLElement} control
 * @param {Slot} slot
 */
function label(parts, control, slot) {
    setAttribute(control, "aria-label", slot.label);
    setAttribute(control, "aria-invalid", slot.error === null ? null : "true");
    setAttribute(control, "title", slot.hint);
    setAttribute(parts.box, "data-refused", slot.error !== null);
    setText(parts.hint, slot.hint);
    const gap = slot.unit === "" || slot.unit === "°" ? "" : "\u00a0";
    setText(parts.unit, `${gap}${slot.unit}`);
}

/**
 * @param {string} id
 * @param {SlotActs} acts
 * @returns {MountedSlot}
 */
function mountChoice(id, acts) {
    const select = make("select", { class: "slot__control", id });
    const parts = frame(select, id, "choice");
    const fit = () => {
        const shown = select.selectedOptions[0]?.textContent ?? "";
        setAttribute(parts.box, "data-text", shown);
    };
    let offered = "";
    select.addEventListener("change", () => {
        fit();
        void acts.set(select.value, false);
    });
    return {
        root: parts.root,
        update(slot) {
            const offer = JSON.stringify(slot.options);
            if (offer !== offered) {
                offered = offer;
                const options = slot.options.map((one) =>
                    make("option", { value: one.id, text: one.label }),
                );
                select.replaceChildren(...options);
            }
            select.value = slot.value;
            label(parts, select, slot);
            fit();
        },
    };
}

/**
 * @param {Slot} first
 * @param {string} id
 * @param {SlotActs} acts
 * @returns {MountedSlot}
 */
function mountTyped(first, id, acts) {
    const isNumber = first.kind === "number" || first.kind === "integer";
    const input = make("input", {
        class: "slot__control",
        id,
        type: "text",
        size: 1,
        inputmode: isNumber ? "decimal" : "text",
        autocomplete: "off",
        autocapitalize: "off",
        spellcheck: "false",
    });
    const parts = frame(input, id, isNumber ? "number" : "text");
    if (first.kind === "span") {
        const pick = button(say("from the figure"), acts.pickSpan, {
            class: "slot__pick",
            "aria-label": say("from the figure: {label}", { label: first.label }),
        });
        parts.root.append(pick);
    }
    const typing = new Typing(input, parts.box, acts);
    input.addEventListener("input", () => typing.typed());
    input.addEventListener("blur", () => typing.commit());
    input.addEventListener("keydown", (event) => {
        if (typing.key(event, isNumber)) {
            event.preventDefault();
        }
    });
    return {
        root: parts.root,
        update(slot) {
            label(parts, input, slot);
            setAttribute(input, "placeholder", slot.value === "" ? slot.said : null);
            typing.show(slot.value);
        },
    };
}

/** What is being typed into one control, from the first key to the commit. */
class Typing {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    #timer;
    // Whether the control follows the engine, as after an arrow key.
    #follows = true;
    #awaited = 0;
    #latest = "";
    /** @type {Promise<void>} the last step of the arrow keys */
    #stepped = Promise.resolve();

    /**
     * @param {HTMLInputElement} input
     * @param {HTMLElement} box
     * @param {SlotActs} acts
     */
    constructor(input, box, acts) {
        this.input = input;
        this.box = box;
        this.acts = acts;
    }

    // Whether there is a text or a step that was not committed; undo is the
    // field's own as long as there is.
    get #open() {
        return this.input.hasAttribute("data-open");
    }

    set #open(open) {
        this.input.toggleAttribute("data-open", open);
    }

    /** @param {string} value */
    show(value) {
        this.#latest = value;
        if (this.#follows && this.#awaited === 0 && this.input.value !== value) {
            this.input.value = value;
        }
        this.#fit();
    }

    #fit() {
        setAttribute(this.box, "data-text", this.input.value || this.input.placeholder);
    }

    typed() {
        this.#open = true;
        this.#follows = false;
        this.#fit();
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => void this.acts.set(this.input.value, true), REST_MS);
    }

    commit() {
        clearTimeout(this.#timer);
        if (this.#open) {
            this.#open = false;
            // After an arrow key the number is the engine's, which may still be on its way.
            const follows = this.#follows;
            const keep = () => this.acts.set(follows ? this.#latest : this.input.value, false);
            void this.#until(follows ? this.#stepped.then(keep) : keep());
        }
    }

    /** @param {number} by */
    #nudge(by) {
        clearTimeout(this.#timer);
        const typed = this.#open && !this.#follows;
        this.#open = true;
        const before = typed ? this.acts.set(this.input.value, true) : Promise.resolve();
        this.#stepped = before.then(() => this.acts.nudge(by));
        void this.#until(this.#stepped);
    }

    #restore() {
        clearTimeout(this.#timer);
        this.#open = false;
        void this.#until(this.acts.restore());
    }

    // An older answer may come in while a newer one is awaited; the control
    // follows only the last.
    /** @param {Promise<void>} answer */
    async #until(answer) {
        this.#awaited += 1;
        this.#follows = true;
        await answer;
        this.#awaited -= 1;
        this.show(this.#latest);
    }

    /**
     * Whether the key was taken.
     *
     * @param {KeyboardEvent} event
     * @param {boolean} isNumber
     */
    key(event, isNumber) {
        const by = STEPS[event.key];
        if (event.key === "Enter") {
            this.commit();
            return true;
        }
        const isRefused = this.input.hasAttribute("aria-invalid");
        if (event.key === "Escape" && (this.#open || isRefused)) {
            this.#restore();
            return true;
        }
        if (by !== undefined && isNumber && !event.altKey && !event.ctrlKey && !event.metaKey) {
            this.#nudge(by);
            return true;
        }
        return false;
    }
}
