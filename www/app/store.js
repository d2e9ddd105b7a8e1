/*
 * What the page knows, in one frozen object.  Samples and plans stay with the
 * engine; here are the view, the step in hand and what is shown of it.
 */

/** @import { View } from "./protocol.js" */

/**
 * @typedef {object} State
 * @property {View | null} view the newest answer of the engine
 * @property {View | null} whole the newest one in which every step was run
 * @property {number} seq counts the views, so that a stale plan is known
 * @property {string | null} inHand key of the step whose figures are shown
 * @property {string | null} figure name of the figure shown
 */

/** @type {Readonly<State>} */
export const emptyState = Object.freeze({
    view: null,
    whole: null,
    seq: 0,
    inHand: null,
    figure: null,
});

/**
 * @typedef {{ type: "view-arrived", view: View }
 *     | { type: "view-so-far", view: View }
 *     | { type: "step-taken", step: string, figure?: string }
 *     | { type: "emptied" }} PageEvent
 */

/**
 * The key of each step: its kind, and which one of that kind it is.  It stays
 * with a step while others come and go around it.
 *
 * @param {View} view
 * @returns {string[]}
 */
export function stepKeys(view) {
    /** @type {Map<string, number>} */
    const seen = new Map();
    return view.steps.map((step) => {
        const nth = seen.get(step.id) ?? 0;
        seen.set(step.id, nth + 1);
        return nth === 0 ? step.id : `${step.id}-${nth + 1}`;
    });
}

/**
 * The step and figure to show: those in hand while they exist, else the first
 * step that works and has a figure.
 *
 * @param {View} view
 * @param {string | null} inHand
 * @param {string | null} figure
 * @returns {{ inHand: string | null, figure: string | null }}
 */
export function chooseShown(view, inHand, figure) {
    const keys = stepKeys(view);
    const at = inHand === null ? -1 : keys.indexOf(inHand);
    const held = view.steps[at];
    if (held !== undefined) {
        const names = held.figures.map((one) => one.name);
        const kept = figure !== null && names.includes(figure) ? figure : (names[0] ?? null);
        return { inHand, figure: kept };
    }
    const first = view.steps.findIndex((step) => step.figures.length > 0);
    const step = view.steps[first];
    return { inHand: keys[first] ?? null, figure: step?.figures[0]?.name ?? null };
}

/**
 * A view that goes only so far: what its waiting steps gave before stays in
 * sight until they were run.
 *
 * @param {View} view
 * @param {View} before
 * @returns {View}
 */
function patchWaiting(view, before) {
    const keys = stepKeys(view);
    const old = stepKeys(before);
    const steps = view.steps.map((step, at) => {
        const held = before.steps[old.indexOf(keys[at] ?? "")];
        if (step.status !== "waiting" || held === undefined) {
            return step;
        }
        const { remark, fault, warnings, figures, results } = held;
        return { ...step, remark, fault, warnings, figures, results };
    });
    const { summary, methods } = before;
    return { ...view, steps, summary, methods };
}

/**
 * The state after an event.  Pure: the old state is left as it was.
 *
 * @param {Readonly<State>} state
 * @param {PageEvent} event
 * @returns {Readonly<State>}
 */
export function next(state, event) {
    switch (event.type) {
        case "view-arrived": {
            const shown = chooseShown(event.view, state.inHand, state.figure);
            const { view } = event;
            return Object.freeze({ ...state, ...shown, view, whole: view, seq: state.seq + 1 });
        }
        case "view-so-far": {
            const view = state.view === null ? event.view : patchWaiting(event.view, state.view);
            const shown = chooseShown(view, state.inHand, state.figure);
            return Object.freeze({ ...state, ...shown, view, seq: state.seq + 1 });
        }
        case "step-taken": {
            if (state.view === null) {
                return state;
            }
            const figure = event.figure ?? (event.step === state.inHand ? state.figure : null);
            const shown = chooseShown(state.view, event.step, figure);
            const isSame = shown.inHand === state.inHand && shown.figure === state.figure;
            return isSame ? state : Object.freeze({ ...state, ...shown });
        }
        case "emptied":
            return Object.freeze({ ...emptyState, seq: state.seq + 1 });
        default:
            return unreachable(event);
    }
}

/**
 * @param {never} event
 * @returns {never}
 */
function unreachable(event) {
    throw new Error(`No such event: ${JSON.stringify(event)}`);
}

/**
 * Holds the state and tells each listener of the new and the old one.
 *
 * @returns {{ get: () => Readonly<State>, dispatch: (event: PageEvent) => void,
 *     subscribe: (listen: (now: Readonly<State>, before: Readonly<State>) => void) => void }}
 */
export function createStore() {
    let state = emptyState;
    /** @type {((now: Readonly<State>, before: Readonly<State>) => void)[]} */
    const listeners = [];
    return {
        get: () => state,
        dispatch(event) {
            const before = state;
            state = next(state, event);
            if (state !== before) {
                listeners.forEach((listen) => listen(state, before));
            }
        },
        subscribe(listen) {
            listeners.push(listen);
        },
    };
}
