/*
 * Keeps the work while it is done, and offers it when the page is opened
 * again.
 */

import { button, byId, make } from "./dom.js";
import { claim, dropWork, forgetAll, keepWork, keptWork, MOST_BYTES, newId } from "./keep.js";
import { workName } from "./work.js";
import { moment, say } from "./words.js";

/** @import { App } from "./app.js" */
/** @import { Kept, KeptLog } from "./keep.js" */
/** @import { Fault } from "./protocol.js" */

/** How long work rests before it is kept, milliseconds. */
const REST_MS = 600;

/** Keeps one piece of work, and lists all. */
export class Autosave {
    /** @type {string | null} */
    #id = null;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    #timer;
    #isRefused = false;
    // Whether anything changed since it was kept: a tab that goes after
    // everything was forgotten must not keep it again.
    #isNew = false;
    /** @type {Promise<unknown>} */
    #saving = Promise.resolve();

    /** @param {App} app */
    constructor(app) {
        this.app = app;
        this.root = byId("kept", HTMLElement);
        app.store.subscribe((now, before) => {
            if (now.whole !== before.whole || now.inHand !== before.inHand || now.figure !== before.figure) {
                this.later();
            }
            if (now.view === null && before.view !== null) {
                this.#id = null;
                void this.list();
            }
        });
        addEventListener("pagehide", () => this.#now());
        void this.list();
    }

    /** Keeps the work as it will be in a moment. */
    later() {
        this.#isNew = true;
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => this.#now(), REST_MS);
    }

    #now() {
        clearTimeout(this.#timer);
        if (!this.#isNew) {
            return;
        }
        this.#isNew = false;
        this.#saving = this.#saving.then(() => this.#save());
    }

    async #save() {
        const { whole, view, inHand, figure } = this.app.store.get();
        if (whole === null || view === null || this.#isRefused) {
            return;
        }
        this.#id ??= newId();
        const id = this.#id;
        void claim(id);
        try {
            await keepWork({
                id,
                name: workName(whole),
                saved: Date.now(),
                procedure: whole.procedure,
                written: this.app.written.get(),
                step: inHand,
                figure,
                logs: this.#logs(whole.inputs),
            });
        } catch {
            this.#isRefused = true;
            this.app.notices.raise(noStore);
        }
    }

    /**
     * @param {import("./protocol.js").Input[]} inputs
     * @returns {KeptLog[]}
     */
    #logs(inputs) {
        const sources = this.app.link?.sources ?? [];
        const sizes = sources.map((one) => (one.kind === "file" ? one.file.size : 0));
        const isSmall = sizes.reduce((sum, size) => sum + size, 0) <= MOST_BYTES;
        return inputs.map(({ name, report }, at) => {
            const source = sources[at];
            const kept = source !== undefined && (isSmall || source.kind === "demo") ? source : null;
            const choices = source?.choices ?? {};
            return { sha256: report.sha256, name, size: sizes[at] ?? 0, source: kept, choices };
        });
    }

    /** Lists what is kept, on the first view. */
    async list() {
        /** @type {Kept[]} */
        let all = [];
        try {
            all = await keptWork();
        } catch {
            // Nothing is listed; the first work that cannot be kept is told.
        }
        this.root.hidden = all.length === 0;
        const items = all.map((kept) => this.#item(kept));
        this.root.replaceChildren(
            make("h2", { class: "kept__head", text: say("Kept on this computer") }),
            make("ul", { class: "kept__list" }, ...items),
            button(say("Forget everything on this computer"), () => void this.#forget()),
        );
    }

    /** @param {Kept} kept */
    #item(kept) {
        const when = moment(kept.saved);
        const named = { "aria-label": say("Continue with {name}, {when}", { name: kept.name, when }) };
        const go = button(say("Continue"), () => void this.#continue(kept), named);
        const drop = button(say("Remove"), () => void this.#remove(kept.id), {
            "aria-label": say("Remove {name}, {when}", { name: kept.name, when }),
        });
        const words = make("span", { text: say("You were working on {name}, {when}", { name: kept.name, when }) });
        return make("li", {}, words, go, drop);
    }

    /** @param {Kept} kept */
    async #continue(kept) {
        if (await claim(kept.id)) {
            this.#id = kept.id;
        } else {
            this.#id = newId();
            this.app.notices.raise(elsewhere);
        }
        const sources = kept.logs.map((log) => log.source);
        const isWhole = sources.every((source) => source !== null);
        await this.app.taker.take({
            procedure: kept.procedure,
            logs: kept.logs,
            demo: [],
            sources: isWhole ? sources.filter((source) => source !== null) : [],
            written: kept.written,
            step: kept.step,
            figure: kept.figure,
        });
    }

    /** @param {string} id */
    async #remove(id) {
        await dropWork(id);
        await this.list();
    }

    async #forget() {
        clearTimeout(this.#timer);
        this.#isNew = false;
        try {
            await this.#saving;
            await forgetAll();
            this.app.written.forget();
            this.app.status.say(say("Nothing of your work is kept on this computer now."));
        } catch {
            this.app.notices.raise(noStore);
        }
        this.#id = null;
        await this.list();
    }

    /** Forgets everything, from within the work; what is open stays open. */
    async forget() {
        await this.#forget();
        this.app.notices.lower(noStore.code);
    }
}

/** @type {Fault} */
const noStore = {
    code: "keep/refused",
    message: "This browser does not let the page keep work.",
    place: "",
    remedy: "Save the hand-in or the procedure before you close the page.",
};

/** @type {Fault} */
const elsewhere = {
    code: "keep/open-elsewhere",
    message: "This work is also open in another tab.",
    place: "",
    remedy: "What you change here is kept as a work of its own; nothing of the other tab is overwritten.",
};
