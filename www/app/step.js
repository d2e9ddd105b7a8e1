/*
 * One step of the procedure: its sentence with slots, what it did, what came
 * of it, and Why.  What stands in it comes from the engine as text.
 */

import { button, make, setAttribute, setText } from "./dom.js";
import { keepInSight } from "./insight.js";
import { fetchLater } from "./later.js";
import { remarkItem, replaceIfChanged } from "./remarks.js";
import { holdTogether } from "./sentence.js";
import { mountSlot } from "./slot.js";
import { say } from "./words.js";

/** @import { Edit, Slot, Step } from "./protocol.js" */
/** @import { MountedSlot } from "./slot.js" */

/**
 * What a step asks for.
 *
 * @typedef {object} StepActs
 * @property {(make: (step: number) => Edit, typing?: string) => Promise<void>} edit
 * @property {(param: string, by: number) => Promise<void>} nudge
 * @property {(figure?: string) => void} take takes the step in hand
 * @property {(param: string) => void} pickSpan
 */

/**
 * What else must be known to show a step.
 *
 * @typedef {object} Shown
 * @property {boolean} inHand
 * @property {string | null} figure the figure that is shown, while in hand
 * @property {number} plate number of the first figure of this step
 */

/** @typedef {{ root: HTMLLIElement, update: (step: Step, shown: Shown) => void }} MountedStep */

/**
 * @param {string} key
 * @param {StepActs} acts
 * @returns {MountedStep}
 */
export function mountStep(key, acts) {
    const id = `step-${key}`;
    const head = mountHead(id, acts);
    const sentence = mountSentence(id, acts);
    const refusals = make("div");
    const remark = make("p", { class: "step__remark", id: `${id}-remark` });
    const results = make("dl", { class: "results" });
    const remarks = make("ul", { class: "remark-list" });
    const foot = mountFoot(acts);
    const group = make("div", { role: "group", "aria-labelledby": `${id}-sentence` });
    group.append(head.root, sentence.root, refusals, remark, results, remarks, foot.root);
    const root = make("li", { class: "step", id }, group);
    root.addEventListener("focusin", () => acts.take());
    keepInSight(root, remark);
    // A switch that is clicked without having the focus must not be written anew before it has changed.
    root.addEventListener("click", ({ target }) => target instanceof HTMLInputElement || acts.take());
    return {
        root,
        update(step, shown) {
            setAttribute(root, "data-in-hand", shown.inHand);
            setAttribute(root, "data-status", step.status);
            head.update(step);
            sentence.update(step);
            replaceIfChanged(refusals, refusalsOf(step, id), refusal);
            setText(remark, step.remark);
            remark.hidden = step.remark === "";
            replaceIfChanged(results, step.results, resultRow);
            const faults = step.fault === null ? [] : [{ ...step.fault, isFault: true }];
            replaceIfChanged(remarks, [...faults, ...step.warnings], remarkItem);
            foot.update(step, shown);
        },
    };
}

/**
 * @param {string} id
 * @param {StepActs} acts
 */
function mountHead(id, acts) {
    const title = make("h3", { class: "step__title", id: `${id}-title` });
    const on = make("input", { type: "checkbox" });
    const lever = make("label", { class: "step__switch" }, on);
    const move = (/** @type {number} */ by) => () =>
        void acts.edit((step) => ({ kind: "move", step, by }));
    const up = button(say("Move up"), move(-1));
    const down = button(say("Move down"), move(1));
    const out = button(say("Take out"), () => {
        const here = out.closest(".step");
        const near = here?.nextElementSibling ?? here?.previousElementSibling;
        void acts.edit((step) => ({ kind: "remove", step })).then(() => holdFocus(near));
    });
    const tools = make("div", { class: "step__tools" }, up, down, out);
    const name = make("div", { class: "step__name" }, lever, title);
    on.addEventListener("change", () => {
        const isOn = on.checked;
        void acts.edit((step) => ({ kind: "switch", step, on: isOn }));
        acts.take();
    });
    return {
        root: make("div", { class: "step__head" }, name, tools),
        /** @param {Step} step */
        update(step) {
            setText(title, step.title);
            setAttribute(on, "aria-label", say("{title}: use this step", { title: step.title }));
            on.checked = step.on;
            lever.hidden = !step.removable && step.on;
            setAttribute(up, "aria-label", say("Move up: {title}", { title: step.title }));
            setAttribute(down, "aria-label", say("Move down: {title}", { title: step.title }));
            setAttribute(out, "aria-label", say("Take out: {title}", { title: step.title }));
            up.hidden = !step.up;
            down.hidden = !step.down;
            out.hidden = !step.removable;
        },
    };
}

// Who works by keys goes on beside what is gone.
/** @param {Element | null | undefined} near */
function holdFocus(near) {
    for (const one of [near?.querySelector("input, select, button"), document.getElementById("procedure")]) {
        if (document.activeElement === document.body && one instanceof HTMLElement) {
            one.focus({ preventScroll: true });
        }
    }
}

/**
 * The sentence is made anew only when its words or slots are others; a value
 * that changes is written into its control.
 *
 * @param {string} id
 * @param {StepActs} acts
 */
function mountSentence(id, acts) {
    const root = make("p", { class: "step__sentence", id: `${id}-sentence` });
    /** @type {Map<string, MountedSlot>} */
    const slots = new Map();
    let written = "";
    return {
        root,
        /** @param {Step} step */
        update(step) {
            const kinds = step.slots.map((slot) => [slot.key, slot.kind]);
            const form = JSON.stringify([step.sentence, kinds]);
            if (form !== written) {
                written = form;
                write(root, slots, step, id, acts);
            }
            step.slots.forEach((slot) => slots.get(slot.key)?.update(slot));
        },
    };
}

/**
 * @param {HTMLElement} root
 * @param {Map<string, MountedSlot>} slots
 * @param {Step} step
 * @param {string} id
 * @param {StepActs} acts
 */
function write(root, slots, step, id, acts) {
    const focused = document.activeElement?.id ?? "";
    const kept = new Map(slots);
    slots.clear();
    const pieces = step.sentence.map((piece) => {
        const slot = step.slots.find((one) => one.key === piece.slot);
        if (slot === undefined) {
            return piece.text ?? "";
        }
        const old = kept.get(slot.key);
        const mounted = old ?? mountSlot(slot, `${id}-${slot.key}`, slotActs(slot.key, acts));
        slots.set(slot.key, mounted);
        return mounted.root;
    });
    root.replaceChildren(...holdTogether(pieces));
    if (focused.startsWith(`${id}-`)) {
        document.getElementById(focused)?.focus({ preventScroll: true });
    }
}

/**
 * @param {string} param
 * @param {StepActs} acts
 * @returns {import("./slot.js").SlotActs}
 */
function slotActs(param, acts) {
    return {
        set: (value, live) =>
            acts.edit((step) => ({ kind: "set", step, param, value, live }), param),
        nudge: (by) => acts.nudge(param, by),
        restore: () => acts.edit((step) => ({ kind: "restore", step, param })),
        pickSpan: () => acts.pickSpan(param),
    };
}

/**
 * @param {Step} step
 * @param {string} id
 */
function refusalsOf(step, id) {
    /** @type {{ control: string, label: string, text: string, isNote: boolean }[]} */
    const found = [];
    step.slots.forEach((slot) => {
        const text = slot.error ?? slot.note;
        if (text !== null) {
            const isNote = slot.error === null;
            found.push({ control: `${id}-${slot.key}`, label: slot.label, text, isNote });
        }
    });
    return found;
}

/** @param {ReturnType<typeof refusalsOf>[number]} given */
function refusal({ control, label, text, isNote }) {
    const line = make("p", { class: isNote ? "step__note" : "step__refusal" });
    line.id = `${control}-refusal`;
    const link = make("a", { href: `#${control}`, text: label });
    link.addEventListener("click", (event) => {
        event.preventDefault();
        document.getElementById(control)?.focus();
    });
    line.append(link, `: ${text}`);
    return line;
}

/** @param {Step["results"][number]} result */
function resultRow({ label, text }) {
    return make("div", {}, make("dt", { text: label }), make("dd", { text }));
}

/** @param {StepActs} acts */
function mountFoot(acts) {
    const plates = make("div", { class: "step__plates" });
    const why = mountWhy();
    const root = make("div", { class: "step__foot" }, plates, why.root);
    return {
        root,
        /**
         * @param {Step} step
         * @param {Shown} shown
         */
        update(step, shown) {
            const wanted = step.figures.map(({ name, title }, nth) => ({
                name,
                title,
                plate: shown.plate + nth,
            }));
            replaceIfChanged(plates, wanted, ({ name, title, plate }) =>
                button(say("Plate {plate}", { plate }), () => acts.take(name), {
                    "data-figure": name,
                    "aria-label": say("Plate {plate}: {title}", { plate, title }),
                    title,
                }),
            );
            for (const one of plates.children) {
                const isShown = shown.inHand && one.getAttribute("data-figure") === shown.figure;
                setAttribute(one, "aria-pressed", isShown ? "true" : "false");
            }
            why.update(step);
        },
    };
}

function mountWhy() {
    const list = make("dl");
    const summary = make("summary", { text: say("Why?") });
    const picture = make("div", { class: "why__picture", role: "img", hidden: true });
    const root = make("details", { class: "why" }, summary, picture, list);
    root.addEventListener("toggle", fetchLater);
    return {
        root,
        /** @param {Step} step */
        update(step) {
            setAttribute(summary, "aria-label", say("Why? {title}", { title: step.title }));
            setAttribute(picture, "data-step", step.id);
            setAttribute(picture, "aria-label", step.why.picture);
            const { what, why, wrong } = step.why;
            const told = [
                { word: say("What it does"), text: what },
                { word: say("Why"), text: why },
                { word: say("What goes wrong"), text: wrong },
            ];
            replaceIfChanged(list, told, ({ word, text }) =>
                make("div", {}, make("dt", { text: word }), make("dd", { text })),
            );
        },
    };
}
