/*
 * The engine in its worker: a table of actions, one answer a request.  All
 * that a student reads comes from the engine as text; this file passes it on.
 */

import init, { Engine, speak } from "../pkg/page.js";
import { Inbox } from "./inbox.js";
import { readInto, unreadable } from "./reading.js";

/** @import { Ask, Fault, PlanAsk } from "../app/protocol.js" */

/** @typedef {Ask & { id: number }} Asked */

/** The share of opening a log that is reading it; the rest is running. */
const READING = 0.6;

/** How long the page gets to ask for the figure in hand, milliseconds. */
const ANSWER_MS = 40;

/** A share done is told no more often than this, milliseconds. */
const TELL_MS = 100;

/** @type {Engine | null} */
let engine = null;
const inbox = new Inbox();

/**
 * What ended the engine: its last words, where a panic left some.
 *
 * @param {unknown} error
 */
function textOf(error) {
    const words = /** @type {{ lodelogPanic?: string }} */ (self).lodelogPanic;
    return words ?? (error instanceof Error ? error.message : String(error));
}

/**
 * A fault as the engine throws it is JSON; anything else is an end.
 *
 * @param {unknown} error
 * @returns {Fault | null}
 */
function faultOf(error) {
    if (typeof error !== "string") {
        return null;
    }
    try {
        const { code, message, place, remedy } = JSON.parse(error);
        return typeof code === "string" ? { code, message, place, remedy } : null;
    } catch {
        return null;
    }
}

/** @returns {Engine} */
function ready() {
    if (engine === null) {
        throw new Error("the engine was asked before it was started");
    }
    return engine;
}

/**
 * @param {number} id
 * @param {number} fraction
 * @param {string} doing in English: the page says it in its language
 * @param {string} [name] of the file it is done to
 */
function tell(id, fraction, doing, name = "") {
    self.postMessage({ id, progress: fraction, doing, name });
}

/**
 * Hands on what it is told, but not more often than is worth showing.
 *
 * @param {(done: number) => void} hear
 * @returns {(done: number) => void}
 */
function often(hear) {
    let last = performance.now();
    return (done) => {
        const now = performance.now();
        if (now - last > TELL_MS) {
            last = now;
            hear(done);
        }
    };
}

/** @param {Extract<Ask, { type: "start" }>} ask */
async function start({ module, speech }) {
    await init({ module_or_path: module });
    speak(speech.language, speech.texts, speech.comma, speech.iso);
    engine = new Engine();
    return null;
}

/**
 * Runs what needs it, a step at a time, and answers with the whole view.  Once
 * the step that is waited for was reached, the view as far as it goes is told,
 * and a newer edit may take over: then the answer is null.
 *
 * @param {{ id: number, first?: number }} ask
 * @param {number} [before] the share of the work that is done already
 * @returns {Promise<unknown>}
 */
async function settle({ id, first }, before = 0) {
    const working = ready();
    const onward = often((/** @type {number} */ done) =>
        tell(id, before + (1 - before) * done, "Running the procedure"));
    let isTold = false;
    while (!working.advance(onward)) {
        tell(id, before + (1 - before) * working.fraction(), "Running the procedure");
        if (!isTold && first !== undefined && working.reached(first)) {
            isTold = true;
            self.postMessage({ id, soFar: JSON.parse(working.view_so_far()) });
            await inbox.wait(ANSWER_MS);
        } else {
            await inbox.wait(0);
        }
        await serveFigures();
        if (isTold && inbox.holds("edit")) {
            return null;
        }
    }
    return JSON.parse(working.view());
}

/** Figures of steps that were reached are planned, and sent, before the work goes on. */
async function serveFigures() {
    for (const ask of inbox.takeAll((one) => one.type === "plan" && ready().reached(one.step))) {
        await answer(ask);
    }
}

/**
 * Reads a log.
 *
 * @param {Extract<Asked, { type: "open" }>} ask
 */
async function open(ask) {
    const { id, file, choices, place, more } = ask;
    const whole = more ? 1 : READING;
    const begin = () => ready().begin(file.name, JSON.stringify(choices), place ?? undefined, file.size);
    await readInto(ready(), file, begin, (done) => tell(id, whole * done, "Reading {name}", file.name));
    return more ? null : settle(ask, READING);
}

/**
 * Makes an invented log and reads it.
 *
 * @param {Extract<Asked, { type: "demo" }>} ask
 */
function demo(ask) {
    tell(ask.id, 0, "Making the demo log");
    ready().add_demo(ask.name, JSON.stringify(ask.choices), ask.place ?? undefined);
    return ask.more ? null : settle(ask, READING);
}

/** @param {PlanAsk} ask */
function plan({ step, figure, width, height, zoom, print }) {
    const shown = JSON.stringify(zoom);
    return print
        ? ready().plan_print(step, figure, width, height, shown)
        : ready().plan(step, figure, width, height, shown);
}

/**
 * Does what was asked.
 *
 * @param {Asked} ask
 * @returns {Promise<unknown> | unknown}
 */
function act(ask) {
    switch (ask.type) {
        case "start":
            return start(ask);
        case "open":
            return open(ask);
        case "demo":
            return demo(ask);
        case "drop":
            ready().remove_input(ask.input);
            return settle(ask);
        case "edit":
            ready().edit(JSON.stringify(ask.edit));
            return settle(ask);
        case "view":
            return settle(ask);
        case "plan":
            return plan(ask);
        case "export":
            return ready().export(ask.what);
        default:
            return share(ask);
    }
}

/**
 * What goes out of the session, and what came in from another one.
 *
 * @param {Asked} ask
 */
function share(ask) {
    switch (ask.type) {
        case "link":
            return ready().link(JSON.stringify(ask.shown));
        case "read-link":
            return JSON.parse(ready().read_link(ask.fragment));
        case "hand-in":
            return ready().hand_in(JSON.stringify(ask.written));
        case "read-hand-in":
            return JSON.parse(ready().read_hand_in(ask.html));
        case "archive":
            return ready().archive(JSON.stringify(ask.written), ask.folder);
        default:
            throw new Error("the worker was asked for something it does not do");
    }
}

/** @param {Asked} ask */
async function answer(ask) {
    try {
        const value = await act(ask);
        const carried = value instanceof Uint8Array ? [value.buffer] : [];
        self.postMessage({ id: ask.id, ok: true, value }, { transfer: carried });
    } catch (error) {
        const isFileFault = error instanceof DOMException;
        const fault = isFileFault && ask.type === "open" ? unreadable(ask.file.name) : faultOf(error);
        if (fault === null) {
            self.postMessage({ ended: textOf(error) });
        } else {
            self.postMessage({ id: ask.id, ok: false, ...fault });
        }
    }
}

// One at a time, in the order in which they came: reading a file waits for
// its chunks, and an edit must not slip in between.
let isAnswering = false;
async function answerAll() {
    if (isAnswering) {
        return;
    }
    isAnswering = true;
    for (let ask = inbox.take(); ask !== undefined; ask = inbox.take()) {
        await answer(ask);
    }
    isAnswering = false;
}

self.onmessage = (/** @type {MessageEvent<Asked>} */ { data }) => {
    inbox.put(data);
    void answerAll();
};
self.addEventListener("unhandledrejection", (event) => {
    self.postMessage({ ended: textOf(event.reason) });
});
