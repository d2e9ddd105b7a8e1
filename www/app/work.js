/*
 * Work that is taken up: a procedure that came in a link, a hand-in, a lesson,
 * or from what this machine kept, with the logs it was made on.
 */


/** @import { App } from "./app.js" */
/** @import { Source } from "./sources.js" */
/** @import { Fault, View } from "./protocol.js" */
/** @import { Written } from "./written.js" */

/**
 * A log as work remembers it: how its SHA-256 begins, and the decisions of its
 * reading that were changed.
 *
 * @typedef {{ sha256: string, name: string, choices: Record<string, string> }} Known
 */

/**
 * @typedef {object} Work
 * @property {unknown} procedure
 * @property {Known[]} logs
 * @property {string[]} demo names of the invented logs it was made on
 * @property {Source[]} sources logs that came with it
 * @property {Written | null} written
 * @property {string | null} step the step in hand
 * @property {string | null} figure
 */

/** @param {unknown} value */
function textOf(value) {
    return typeof value === "string" ? value : "";
}

/**
 * @param {unknown} value
 * @returns {Record<string, string>}
 */
function choicesOf(value) {
    const found = typeof value === "object" && value !== null ? Object.entries(value) : [];
    return Object.fromEntries(found.filter(([, chosen]) => typeof chosen === "string"));
}

/**
 * Work as a link, a hand-in or a lesson writes it; what is missing is empty.
 *
 * @param {any} found
 * @returns {Work}
 */
export function workOf(found) {
    const logs = Array.isArray(found.logs) ? found.logs : [];
    const demo = Array.isArray(found.demo) ? found.demo.filter((/** @type {unknown} */ one) => typeof one === "string") : [];
    return {
        procedure: { schema: found.schema, steps: found.steps },
        logs: logs.map((/** @type {any} */ log) =>
            Array.isArray(log)
                ? { sha256: textOf(log[0]), name: "", choices: choicesOf(log[1]) }
                : typeof log === "string"
                  ? { sha256: log, name: "", choices: {} }
                  : {
                        sha256: textOf(log?.sha256),
                        name: textOf(log?.name),
                        choices: choicesOf(log?.choices),
                    },
        ),
        demo,
        sources: [],
        written: typeof found.written === "object" ? found.written : null,
        step: textOf(found.step) || null,
        figure: textOf(found.figure) || null,
    };
}

/** Takes work up, at once or when its log has been opened. */
export class Taker {
    /** @type {Work | null} work that waits for its log */
    #awaited = null;

    /** @param {App} app */
    constructor(app) {
        this.app = app;
    }

    /**
     * @param {Work} work
     * @returns {Promise<void>}
     */
    async take(work) {
        const { app } = this;
        if (work.written !== null) {
            app.written.replace(work.written);
        }
        const sources = work.sources.length > 0 ? work.sources : this.#demos(work);
        app.notices.lower(ASKS);
        this.#awaited = null;
        if (sources.length > 0) {
            await app.opener.replace(sources, work.procedure);
            this.#show(work);
        } else if (app.store.get().view !== null) {
            await this.#apply(work);
        } else {
            this.#awaited = work;
            app.notices.raise(asksFor(work));
        }
    }

    /**
     * @param {Work} work
     * @returns {Source[]}
     */
    #demos(work) {
        return work.demo.map((name, at) => ({
            kind: "demo",
            name,
            choices: work.logs[at]?.choices ?? {},
        }));
    }

    /** To be called when logs were opened: work that waited for them is taken up. */
    async opened() {
        const work = this.#awaited;
        if (work !== null && this.app.store.get().view !== null) {
            this.#awaited = null;
            await this.#apply(work);
        }
    }

    /** @param {Work} work */
    async #apply(work) {
        await this.#readAsThere(work);
        await this.#use(work);
        const view = this.app.store.get().view;
        const missing = work.logs.filter(({ sha256 }) => !holds(view, sha256));
        this.app.notices.lower(ASKS);
        if (missing.length > 0) {
            this.app.notices.raise(otherLog(missing));
        }
    }

    /** @param {Work} work */
    async #readAsThere(work) {
        const inputs = this.app.store.get().view?.inputs ?? [];
        for (const { sha256, choices } of work.logs) {
            const input = inputs.find((one) => one.report.sha256.startsWith(sha256));
            for (const [decision, alternative] of Object.entries(choices)) {
                if (input !== undefined) {
                    await this.app.reread(input.index, decision, alternative);
                }
            }
        }
    }

    /** @param {Work} work */
    async #use(work) {
        await this.app.edit(() => ({ kind: "load", procedure: work.procedure }));
        this.#show(work);
    }

    /** @param {Work} work */
    #show({ step, figure }) {
        if (step !== null) {
            this.app.store.dispatch({ type: "step-taken", step, figure: figure ?? undefined });
        }
    }
}

/**
 * @param {View | null} view
 * @param {string} sha256
 */
function holds(view, sha256) {
    return view?.inputs.some((input) => input.report.sha256.startsWith(sha256)) ?? false;
}

/** @param {Known[]} logs */
function told(logs) {
    const each = logs.map(({ name, sha256 }) =>
        name === "" ? `SHA-256 ${sha256.slice(0, 12)}…` : `${name} (SHA-256 ${sha256.slice(0, 12)}…)`,
    );
    return each.join(", ");
}

const ASKS = "work/asks-for-log";

/**
 * @param {Work} work
 * @returns {Fault}
 */
function asksFor(work) {
    const place = work.logs.length === 0 ? "" : told(work.logs);
    return {
        code: ASKS,
        message: "A procedure came with this, and no log: logs never travel in links and hand-ins.",
        place,
        remedy: "Open the log it was made on, or your own, and the procedure is used on it.",
    };
}

/**
 * @param {Known[]} missing
 * @returns {Fault}
 */
function otherLog(missing) {
    return {
        code: "work/other-log",
        message: "The procedure was made on other logs than the ones that are open.",
        place: told(missing),
        remedy: "The numbers will differ from those of the one who made it.",
    };
}

/**
 * What a piece of work is called where it is listed.
 *
 * @param {View} view
 */
export function workName(view) {
    return view.inputs.find((input) => input.use === "log")?.name ?? view.inputs[0]?.name ?? "work";
}

