/*
 * The page's side of the worker: one promise a request; the worker ended and
 * started again from the files and the procedure that the page keeps.
 */

/** @import { Ask, Edit, Fault, Said, View } from "./protocol.js" */

/**
 * What a log was opened from, and the decisions of its reading that the
 * student changed: all that it takes to open it again.
 *
 * @typedef {{ kind: "file", file: File, choices: Record<string, string> }
 *     | { kind: "demo", name: string, choices: Record<string, string> }} Source
 */

/**
 * @typedef {object} Waiting
 * @property {(value: any) => void} resolve
 * @property {(fault: Fault) => void} reject
 * @property {((fraction: number, doing: string) => void) | undefined} onProgress
 */

/** The fault of a request that was given up. */
export const CANCELLED = "page/cancelled";

/** @type {Fault} */
const cancelled = { code: CANCELLED, message: "Cancelled.", place: "", remedy: "" };

/** Starts, asks, ends and restarts the worker. */
export class EngineLink {
    /** @type {Map<number, Waiting>} */
    #waiting = new Map();
    /** @type {Source[]} */
    #sources = [];
    /** @type {Worker | null} */
    #worker = null;
    /** @type {Promise<unknown>} */
    #ready = Promise.resolve();
    #asked = 0;
    #rebuilding = false;

    /**
     * @param {WebAssembly.Module} module
     * @param {() => Worker} makeWorker
     * @param {(fault: Fault) => void} onEnded told when the worker died of itself
     */
    constructor(module, makeWorker, onEnded) {
        this.module = module;
        this.makeWorker = makeWorker;
        this.onEnded = onEnded;
        /** @type {unknown} the procedure of the last good view */
        this.procedure = null;
        this.#begin();
    }

    /** How many logs are open. */
    get opened() {
        return this.#sources.length;
    }

    #begin() {
        const worker = this.makeWorker();
        worker.onmessage = ({ data }) => {
            if (worker === this.#worker) {
                this.#hear(data);
            }
        };
        worker.onerror = (event) => {
            event.preventDefault();
            if (worker === this.#worker) {
                this.#died(event.message || "the worker could not be started");
            }
        };
        this.#worker = worker;
        this.#ready = this.#send({ type: "start", module: this.module });
        this.#ready.catch(() => undefined);
    }

    /** @param {Said} said */
    #hear(said) {
        if ("ended" in said) {
            this.#died(said.ended);
            return;
        }
        const waiting = this.#waiting.get(said.id);
        if (waiting === undefined) {
            return;
        }
        if ("progress" in said) {
            waiting.onProgress?.(said.progress, said.doing);
            return;
        }
        this.#waiting.delete(said.id);
        if (said.ok) {
            waiting.resolve(said.value);
        } else {
            const { code, message, place, remedy } = said;
            waiting.reject({ code, message, place, remedy });
        }
    }

    /**
     * @param {Ask} ask
     * @param {(fraction: number, doing: string) => void} [onProgress]
     * @returns {Promise<any>}
     */
    #send(ask, onProgress) {
        const id = ++this.#asked;
        return new Promise((resolve, reject) => {
            this.#waiting.set(id, { resolve, reject, onProgress });
            this.#worker?.postMessage({ id, ...ask });
        });
    }

    /**
     * @param {Ask} ask
     * @param {(fraction: number, doing: string) => void} [onProgress]
     */
    async #ask(ask, onProgress) {
        await this.#ready;
        return this.#send(ask, onProgress);
    }

    /** @param {Fault} fault */
    #end(fault) {
        this.#worker?.terminate();
        this.#worker = null;
        const waiting = [...this.#waiting.values()];
        this.#waiting.clear();
        waiting.forEach(({ reject }) => reject(fault));
    }

    // A worker that dies while it is being rebuilt is not started once more:
    // what ended it would end it again.
    /** @param {string} why */
    #died(why) {
        const again = !this.#rebuilding && this.procedure !== null;
        const fault = {
            code: "page/engine-ended",
            message: `The engine stopped: ${why}.`,
            place: "",
            remedy: again
                ? "Your logs are being opened again; the last change was left out."
                : "Load the page again. If it stays so, a smaller log may be what this machine can hold.",
        };
        this.#end(fault);
        if (again) {
            this.#rebuild();
        } else {
            this.#sources = [];
            this.#begin();
        }
        this.onEnded(fault);
    }

    #rebuild() {
        this.#rebuilding = true;
        this.#begin();
        const started = this.#ready;
        const procedure = this.procedure;
        const sources = this.#sources;
        this.#ready = (async () => {
            await started;
            for (const source of sources) {
                await this.#send(openingOf(source, null, true));
            }
            if (procedure !== null && sources.length > 0) {
                await this.#send({ type: "edit", edit: { kind: "load", procedure } });
            }
        })().finally(() => {
            this.#rebuilding = false;
        });
        this.#ready.catch(() => undefined);
    }

    /** Gives up what is under way, in favour of the last good procedure. */
    cancel() {
        this.#end(cancelled);
        this.#rebuild();
    }

    /**
     * Opens a log; it counts as open once it was read.
     *
     * @param {Source} source
     * @param {boolean} more whether another follows, so that nothing is run yet
     * @param {(fraction: number, doing: string) => void} onProgress
     * @returns {Promise<View | null>} null when nothing was run
     */
    async open(source, more, onProgress) {
        const view = await this.#ask(openingOf(source, null, more), onProgress);
        this.#sources.push(source);
        return view === null ? null : this.#keep(view);
    }

    /**
     * The view as it now is.
     *
     * @returns {Promise<View>}
     */
    async view() {
        return this.#keep(await this.#ask({ type: "view" }));
    }

    /**
     * Closes a log; the last one takes the worker and its memory with it.
     *
     * @param {number} input
     * @returns {Promise<View>}
     */
    async close(input) {
        if (this.#sources.length <= 1) {
            this.#sources = [];
            this.procedure = null;
            this.#end(cancelled);
            this.#begin();
            return this.#ask({ type: "view" });
        }
        const view = await this.#ask({ type: "drop", input });
        this.#sources.splice(input, 1);
        return this.#keep(view);
    }

    /**
     * Reads a log again with one decision taken otherwise.
     *
     * @param {number} input
     * @param {string} decision
     * @param {string} alternative
     * @param {(fraction: number, doing: string) => void} [onProgress]
     * @returns {Promise<View>}
     */
    async choose(input, decision, alternative, onProgress) {
        const source = this.#sources[input];
        if (source === undefined) {
            throw cancelled;
        }
        const changed = { ...source, choices: { ...source.choices, [decision]: alternative } };
        const view = await this.#ask(openingOf(changed, input, false), onProgress);
        this.#sources[input] = changed;
        return this.#keep(view);
    }

    /**
     * @param {Edit} edit
     * @param {(fraction: number, doing: string) => void} [onProgress]
     * @returns {Promise<View>}
     */
    async edit(edit, onProgress) {
        return this.#keep(await this.#ask({ type: "edit", edit }, onProgress));
    }

    /**
     * @param {Extract<Ask, { type: "plan" }>} ask
     * @returns {Promise<Uint8Array>}
     */
    plan(ask) {
        return this.#ask(ask);
    }

    /**
     * @param {string} what
     * @param {Record<string, unknown>} options
     * @returns {Promise<Uint8Array | string>}
     */
    export(what, options) {
        return this.#ask({ type: "export", what, options });
    }

    /** @param {View} view */
    #keep(view) {
        this.procedure = view.procedure;
        return view;
    }
}

/**
 * @param {Source} source
 * @param {number | null} place
 * @param {boolean} more
 * @returns {Ask}
 */
function openingOf(source, place, more) {
    const reading = { choices: source.choices, place, more };
    return source.kind === "file"
        ? { type: "open", file: source.file, ...reading }
        : { type: "demo", name: source.name, ...reading };
}
