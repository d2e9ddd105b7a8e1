/*
 * The left page: the procedure as prose, stage by stage, with the opened logs
 * before it and the hand-in after it.
 */

import { arrange, make, setAttribute, setText } from "./dom.js";
import { mountAdd } from "./add.js";
import { mountHandIn } from "./handin.js";
import { mountInputs } from "./inputs.js";
import { mountStep } from "./step.js";
import { stepKeys } from "./store.js";
import { mountTries } from "./tries.js";
import { say } from "./words.js";

/** @import { View } from "./protocol.js" */
/** @import { State } from "./store.js" */
/** @import { MountedStep, StepActs } from "./step.js" */
/** @import { InputActs } from "./inputs.js" */
/** @import { HandInActs } from "./handin.js" */

/**
 * @typedef {object} ProcedureActs
 * @property {(key: string) => StepActs} step
 * @property {InputActs} inputs
 * @property {HandInActs} handIn
 * @property {(id: string) => void} add
 */

/** The stage that holds the logs, and the one after all others. */
const FIRST = "Log";
const LAST = "Hand in";

/**
 * @param {HTMLElement} root
 * @param {HTMLElement} links the list of stages to jump to
 * @param {ProcedureActs} acts
 */
export function mountProcedure(root, links, acts) {
    const result = make("p", { class: "lead__result" });
    const lead = make("div", { class: "lead" }, result);
    const skip = make("a", { class: "skip", href: "#plates", text: say("To the figure") });
    const stages = new Stages(acts, links);
    const tries = mountTries();
    const add = mountAdd(acts.add);
    const handIn = mountHandIn(acts.handIn);
    const inputsRoot = make("div");
    const inputs = mountInputs(inputsRoot, acts.inputs);
    stages.of(FIRST).body.prepend(inputsRoot);
    stages.of(LAST).body.append(add.root, handIn.root);
    root.append(skip, lead, tries.root, ...[FIRST, LAST].map((name) => stages.of(name).root));
    links.append(...[FIRST, LAST].map((name) => stages.of(name).link));

    /** @param {Readonly<State>} state */
    return function render(state) {
        const { view } = state;
        if (view === null) {
            return;
        }
        setText(result, view.summary);
        lead.hidden = view.summary === "";
        inputs.update(view.inputs);
        stages.update(view, state);
        tries.update(state);
        add.update(view.addable);
        handIn.update(view);
        arrange(root, [skip, lead, tries.root, ...stages.roots(view)]);
    };
}

/** The sections of the stages, each with its steps. */
class Stages {
    /** @type {Map<string, ReturnType<typeof mountStage>>} */
    #stages = new Map();
    /** @type {Map<string, MountedStep>} */
    #steps = new Map();

    /**
     * @param {ProcedureActs} acts
     * @param {HTMLElement} links
     */
    constructor(acts, links) {
        this.acts = acts;
        this.links = links;
    }

    /** @param {string} name */
    of(name) {
        let stage = this.#stages.get(name);
        if (stage === undefined) {
            stage = mountStage(name);
            this.#stages.set(name, stage);
        }
        return stage;
    }

    /** @param {string} key */
    #step(key) {
        let step = this.#steps.get(key);
        if (step === undefined) {
            step = mountStep(key, this.acts.step(key));
            this.#steps.set(key, step);
        }
        return step;
    }

    /**
     * @param {View} view
     * @returns {string[]}
     */
    #names(view) {
        return [...new Set([FIRST, ...view.steps.map((step) => step.stage), LAST])];
    }

    /** @param {View} view */
    roots(view) {
        return this.#names(view).map((name) => this.of(name).root);
    }

    /**
     * @param {View} view
     * @param {Readonly<State>} state
     */
    update(view, state) {
        const keys = stepKeys(view);
        const plates = firstPlates(view);
        this.#steps.forEach((_, key) => keys.includes(key) || this.#steps.delete(key));
        const names = this.#names(view);
        for (const name of names) {
            const held = keys.filter((_, at) => view.steps[at]?.stage === name);
            const roots = held.map((key) => this.#step(key).root);
            arrange(this.of(name).list, roots);
            this.of(name).list.hidden = roots.length === 0;
        }
        view.steps.forEach((step, at) => {
            const key = keys[at] ?? "";
            const inHand = key === state.inHand;
            this.#step(key).update(step, { inHand, figure: state.figure, plate: plates[at] ?? 1 });
        });
        const current = view.steps[keys.indexOf(state.inHand ?? "")]?.stage;
        this.#link(names, current);
    }

    /**
     * @param {string[]} names
     * @param {string | undefined} current
     */
    #link(names, current) {
        const items = names.map((name) => this.of(name).link);
        arrange(this.links, items);
        names.forEach((name) => {
            const anchor = this.of(name).link.firstElementChild;
            if (anchor !== null) {
                setAttribute(anchor, "aria-current", name === current ? "true" : null);
            }
        });
    }
}

/**
 * The number of the first figure of each step: figures are counted through
 * the whole procedure, as plates of a notebook are.
 *
 * @param {View} view
 */
export function firstPlates(view) {
    let plate = 1;
    return view.steps.map((step) => {
        const first = plate;
        plate += step.figures.length;
        return first;
    });
}

/** @param {string} name */
function mountStage(name) {
    const id = `stage-${name.toLowerCase().replaceAll(" ", "-")}`;
    const heading = make("h2", { class: "stage__name", id, tabindex: "-1", text: say(name) });
    const list = make("ol");
    const body = make("div", { class: "stage__body" }, list);
    const root = make("section", { class: "stage", "aria-labelledby": id }, heading, body);
    const link = make("li", {}, make("a", { href: `#${id}`, text: say(name) }));
    return { root, body, list, link };
}
