/*
 * The engine in its worker: a table of actions, one answer a request.  All
 * that a student reads comes from the engine as text; this file passes it on.
 */

import init, { Engine } from "../pkg/page.js";

/** @import { Ask, Fault, PlanAsk, Reading } from "../app/protocol.js" */

/** @type {Engine | null} */
let engine = null;
let current = 0;

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
 * @param {number} fraction
 * @param {string} doing
 */
function tell(fraction, doing) {
    self.postMessage({ id: current, progress: fraction, doing });
}

/** @param {WebAssembly.Module} module */
async function start(module) {
    await init({ module_or_path: module });
    engine = new Engine();
    return null;
}

/**
 * Runs what needs it, a step at a time, and answers with the whole view.
 *
 * @param {string} doing
 */
function settle(doing) {
    const working = ready();
    while (!working.advance()) {
        tell(working.fraction(), doing);
    }
    return JSON.parse(working.view());
}

/**
 * Reads a log chunk by chunk.
 *
 * @param {File} file
 * @param {Reading} how
 */
async function open(file, { choices, place, more }) {
    const reading = ready();
    reading.begin(file.name, JSON.stringify(choices), place ?? undefined);
    const reader = chunksOf(file).getReader();
    let done = 0;
    for (;;) {
        const { value, done: over } = await reader.read();
        if (over) {
            break;
        }
        reading.push(value);
        done += value.byteLength;
        tell(file.size > 0 ? done / file.size : 0, `Reading ${file.name}`);
    }
    reading.finish();
    return more ? null : settle("Running the procedure");
}

/**
 * Makes an invented log and reads it.
 *
 * @param {string} name
 * @param {Reading} how
 */
function demo(name, { choices, place, more }) {
    tell(0, "Making the demo log");
    ready().add_demo(name, JSON.stringify(choices), place ?? undefined);
    return more ? null : settle("Running the procedure");
}

/**
 * @param {File} file
 * @returns {ReadableStream<Uint8Array>}
 */
function chunksOf(file) {
    try {
        return file.stream();
    } catch {
        throw JSON.stringify(unreadable(file.name));
    }
}

/**
 * @param {string} name
 * @returns {Fault}
 */
function unreadable(name) {
    return {
        code: "page/unreadable",
        message: `${name} could not be read.`,
        place: "",
        remedy: "A folder cannot be read as a log: drop the file inside it. A file that was moved, changed or is kept elsewhere must be copied to this computer first.",
    };
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
 * @param {Ask} ask
 * @returns {Promise<unknown> | unknown}
 */
function act(ask) {
    switch (ask.type) {
        case "start":
            return start(ask.module);
        case "open":
            return open(ask.file, ask);
        case "demo":
            return demo(ask.name, ask);
        case "drop":
            ready().remove_input(ask.input);
            return settle("Running the procedure");
        case "edit":
            ready().edit(JSON.stringify(ask.edit));
            return settle("Running the procedure");
        case "view":
            return settle("Running the procedure");
        case "plan":
            return plan(ask);
        case "export":
            return ready().export(ask.what);
        default:
            throw new Error("the worker was asked for something it does not do");
    }
}

/** @param {Ask & { id: number }} ask */
async function answer(ask) {
    current = ask.id;
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
let last = Promise.resolve();
self.onmessage = (/** @type {MessageEvent<Ask & { id: number }>} */ { data }) => {
    last = last.then(() => answer(data));
};
self.addEventListener("unhandledrejection", (event) => {
    self.postMessage({ ended: textOf(event.reason) });
});
