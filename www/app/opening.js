/*
 * Opens what comes in: logs, several at once, the demo, or a saved procedure.
 * Nothing is run until the last of them was read.
 */

import { byId } from "./dom.js";
import { handInIn, procedureIn } from "./files.js";
import { CANCELLED, cancelled } from "./sources.js";
import { workOf } from "./work.js";
import { say } from "./words.js";

/** @import { App } from "./app.js" */
/** @import { Source } from "./sources.js" */
/** @import { Fault, View } from "./protocol.js" */

/** The logs that the demo opens. */
const DEMO = ["sixty-days", "turning"];

/** Opens one batch after another. */
export class Opener {
    #opening = Promise.resolve();

    /** @param {App} app */
    constructor(app) {
        this.app = app;
    }

    /**
     * Opens logs one after another; a saved procedure is put to use.
     *
     * @param {File[]} files
     */
    open(files) {
        return this.#after(async () => {
            /** @type {Source[]} */
            const sources = [];
            /** @type {object[]} */
            const procedures = [];
            /** @type {string[]} */
            const handIns = [];
            for (const file of files) {
                const procedure = await procedureIn(file);
                const handIn = await handInIn(file);
                if (procedure !== null) {
                    procedures.push(procedure);
                } else if (handIn !== null) {
                    handIns.push(handIn);
                } else {
                    sources.push({ kind: "file", file, choices: {} });
                }
            }
            await this.#openAll(sources);
            await this.app.taker.opened();
            for (const procedure of procedures) {
                await this.#use(procedure);
            }
            for (const html of handIns) {
                await this.#takeUp(html);
            }
        });
    }

    // A procedure without a log waits for one.
    /** @param {any} procedure */
    async #use(procedure) {
        if (this.app.store.get().view !== null || !Array.isArray(procedure.steps)) {
            await this.app.edit(() => ({ kind: "load", procedure }));
        } else {
            await this.app.taker.take(workOf(procedure));
        }
    }

    /** @param {string} html */
    async #takeUp(html) {
        try {
            const link = await this.app.ready;
            await this.app.taker.take(workOf(await link.share({ type: "read-hand-in", html })));
        } catch (fault) {
            this.app.notices.raise(/** @type {Fault} */ (fault), true);
        }
    }

    /**
     * Opens logs in place of those that are open.
     *
     * @param {Source[]} sources
     * @param {unknown} [procedure] to be run on them in place of the proposed one
     */
    replace(sources, procedure) {
        return this.#after(async () => {
            const link = await this.app.ready;
            while (link.sources.length > 0) {
                await link.close(0);
            }
            this.app.empty();
            await this.#openAll(sources, procedure);
        });
    }

    demo() {
        const sources = DEMO.map((name) => ({ kind: "demo", name, choices: {} }));
        return this.#after(async () => {
            await this.#openAll(/** @type {Source[]} */ (sources));
            await this.app.taker.opened();
        });
    }

    /** @param {() => Promise<void>} open */
    #after(open) {
        this.#opening = this.#opening.then(open);
        return this.#opening;
    }

    /**
     * @param {Source[]} sources
     * @param {unknown} [procedure]
     */
    async #openAll(sources, procedure) {
        const isFirst = this.app.store.get().view === null;
        let behind = false;
        for (const [at, source] of sources.entries()) {
            const more = at < sources.length - 1 || procedure !== undefined;
            const isOpen = await this.#openOne(source, more);
            behind = (behind || isOpen === true) && (more || !isOpen);
            if (isOpen === null) {
                break;
            }
        }
        if (behind) {
            await this.#run(procedure);
        }
        if (isFirst && this.app.store.get().view !== null) {
            byId("procedure", HTMLElement).focus({ preventScroll: true });
        }
    }

    // A procedure that is refused leaves the proposed one to be run.
    /** @param {unknown} [procedure] */
    async #run(procedure) {
        if (procedure !== undefined) {
            await this.app.edit(() => ({ kind: "load", procedure }));
        }
        if (procedure === undefined || this.app.store.get().view === null) {
            await this.#openOne(null, false);
        }
    }

    // On a slow network it comes long after the page; that can be seen, and given up.
    #engine() {
        /** @type {(fault: Fault) => void} */
        let giveUp = () => undefined;
        const given = new Promise((_, refuse) => {
            giveUp = refuse;
        });
        const fetching = Promise.race([this.app.ready, /** @type {Promise<never>} */ (given)]);
        return this.app.busy.during(say("Fetching the engine"), () => giveUp(cancelled), () => fetching);
    }

    /**
     * Opens one log, or, with none, shows what the ones before it gave.
     *
     * @param {Source | null} source
     * @param {boolean} more
     * @returns {Promise<boolean | null>} whether it was opened; null when it was given up
     */
    async #openOne(source, more) {
        const doing = source?.kind === "file" ? say("Reading {name}", { name: source.file.name }) : say("Making the demo log");
        try {
            const link = await this.#engine();
            const onSoFar = (/** @type {View} */ view) => {
                this.app.store.dispatch({ type: "view-so-far", view });
            };
            const view = await this.app.busy.during(doing, () => link.cancel(), (onProgress) => {
                const hooks = { first: 0, onProgress, onSoFar };
                return source === null ? link.view(hooks) : link.open(source, more, hooks);
            });
            if (view !== null) {
                this.app.store.dispatch({ type: "view-arrived", view });
                this.app.status.say(view.summary);
            }
            return true;
        } catch (fault) {
            this.#putBack();
            this.app.failed(namedAfter(source, /** @type {Fault} */ (fault)));
            return /** @type {Fault} */ (fault).code === CANCELLED ? null : false;
        }
    }

    // A log that came to nothing may have been shown as far as it went.
    #putBack() {
        const { view, whole } = this.app.store.get();
        if (whole === null && view !== null) {
            this.app.empty();
        } else if (whole !== null && view !== whole) {
            this.app.store.dispatch({ type: "view-arrived", view: whole });
        }
    }
}

/**
 * A fault that says of which file it is.
 *
 * @param {Source | null} source
 * @param {Fault} fault
 * @returns {Fault}
 */
function namedAfter(source, fault) {
    const name = source?.kind === "file" ? source.file.name : "";
    if (name === "" || `${fault.message} ${fault.place}`.includes(name)) {
        return fault;
    }
    return { ...fault, place: fault.place === "" ? name : `${name}, ${fault.place}` };
}
