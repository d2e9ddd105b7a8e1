/*
 * The page's side of the worker: one promise a request; the worker ended and
 * started again from the files and the procedure that the page keeps.
 */

import { cancelled, CANCELLED, ENDED, endedBy, openingOf, rereadsOf } from "./sources.js";
import { say, speechOfEngine } from "./words.js";

/** @import { Ask, Edit, Fault, Hooks, PlanAsk, Said, View, Waiting } from "./protocol.js" */
/** @import { Source } from "./sources.js" */

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
    /** @type {unknown} the procedure of lost work, for when its log is opened again */
    #kept = null;

    /**
     * @param {WebAssembly.Module} module
     * @param {() => Worker} makeWorker
     * @param {(fault: Fault, isLost: boolean) => void} onEnded told when the worker
     *     died of itself, and whether the logs went with it
     */
    constructor(module, makeWorker, onEnded) {
        this.module = module;
        this.makeWorker = makeWorker;
        this.onEnded = onEnded;
        /** @type {unknown} the procedure of the last good view */
        this.procedure = null;
        this.#begin();
    }

    /** What the open logs were opened from. */
    get sources() {
        return [...this.#sources];
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
                this.#died(event.message || say("the worker could not be started"));
            }
        };
        this.#worker = worker;
        this.#ready = this.#send({ type: "start", module: this.module, speech: speechOfEngine() });
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
            waiting.hooks.onProgress?.(said.progress, say(said.doing, { name: said.name }));
            return;
        }
        if ("soFar" in said) {
            waiting.hooks.onSoFar?.(said.soFar);
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
     * @param {Hooks} [hooks]
     * @returns {Promise<any>}
     */
    #send(ask, hooks = {}) {
        const id = ++this.#asked;
        return new Promise((resolve, reject) => {
            this.#waiting.set(id, { resolve, reject, hooks });
            this.#worker?.postMessage({ id, first: hooks.first, ...ask });
        });
    }

    /**
     * @param {Ask} ask
     * @param {Hooks} [hooks]
     */
    async #ask(ask, hooks) {
        await this.#ready;
        return this.#send(ask, hooks);
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
        const fault = endedBy(why, again);
        this.#end(fault);
        if (again) {
            this.#rebuild();
        } else {
            this.#sources = [];
            this.#rebuilding = false;
            this.#begin();
        }
        this.onEnded(fault, !again);
    }

    // A file may be gone by the time it is opened again.
    /** @param {Fault} fault */
    #lost(fault) {
        if (!this.#rebuilding || fault.code === CANCELLED || fault.code === ENDED) {
            return;
        }
        this.#kept = this.procedure;
        this.#sources = [];
        this.#end(cancelled);
        this.#rebuilding = false;
        this.#begin();
        const remedy = say("{remedy} Open the log once more: your procedure was kept.", { remedy: fault.remedy });
        this.onEnded({ ...fault, remedy: remedy.trim() }, true);
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
                const edit = /** @type {Edit} */ ({ kind: "load", procedure });
                await this.#reread(await this.#send({ type: "edit", edit }));
            }
            this.#rebuilding = false;
        })();
        this.#ready.catch((fault) => this.#lost(fault));
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
     * @param {Hooks} hooks
     * @returns {Promise<View | null>} null when nothing was run
     */
    async open(source, more, hooks) {
        const view = await this.#ask(openingOf(source, null, more), hooks);
        this.#sources.push(source);
        const procedure = this.#kept;
        if (procedure !== null && !more) {
            this.#kept = null;
            return this.edit({ kind: "load", procedure });
        }
        return view === null ? null : this.#keep(view);
    }

    /**
     * The view as it now is.
     *
     * @param {Hooks} [hooks]
     * @returns {Promise<View>}
     */
    async view(hooks) {
        return this.#keep(await this.#ask({ type: "view" }, hooks));
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
     * @param {Hooks} [hooks]
     * @returns {Promise<View>}
     */
    async choose(input, decision, alternative, hooks) {
        const source = this.#sources[input];
        if (source === undefined) {
            throw cancelled;
        }
        const changed = { ...source, choices: { ...source.choices, [decision]: alternative } };
        const view = await this.#ask(openingOf(changed, input, false), hooks);
        this.#sources[input] = changed;
        return this.#keep(view);
    }

    /**
     * @param {Edit} edit
     * @param {Hooks} [hooks]
     * @returns {Promise<View | null>} null when a newer edit took over
     */
    async edit(edit, hooks) {
        const view = await this.#ask({ type: "edit", edit }, hooks);
        return view === null ? null : this.#keep(await this.#reread(view, hooks));
    }

    /**
     * Reads those logs again that an opened procedure wants read otherwise.
     *
     * @param {View} view
     * @param {Hooks} [hooks]
     * @returns {Promise<View>} the view after the last of them
     */
    async #reread(view, hooks) {
        let last = view;
        for (const [input, source] of rereadsOf(view, this.#sources)) {
            last = await this.#send(openingOf(source, input, false), hooks);
            this.#sources[input] = source;
        }
        return last;
    }

    /** @param {PlanAsk} ask @returns {Promise<Uint8Array>} */
    plan(ask) {
        return this.#ask(ask);
    }

    /** @param {string} what @returns {Promise<string>} */
    export(what) {
        return this.#ask({ type: "export", what });
    }

    /**
     * Asks for what changes nothing: links, hand-ins, archives.
     *
     * @param {Extract<Ask, { type: "link" | "read-link" | "hand-in" | "read-hand-in" | "archive" }>} ask
     * @returns {Promise<any>}
     */
    share(ask) {
        return this.#ask(ask);
    }

    /** @param {View} view */
    #keep(view) {
        this.procedure = view.procedure;
        return view;
    }
}
