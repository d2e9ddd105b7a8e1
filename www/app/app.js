/*
 * The page as a whole: opens logs, sends edits, and shows each answer on both
 * pages of the spread.
 */

import { Autosave } from "./autosave.js";
import { mountBusy } from "./busy.js";
import { byId } from "./dom.js";
import { copyPicture, download } from "./download.js";
import { EditQueue } from "./edits.js";
import { EngineLink } from "./engine.js";
import { showFrame } from "./frame.js";
import { placePlates } from "./narrow.js";
import { createNotices } from "./notices.js";
import { Opener } from "./opening.js";
import { workerMaker } from "./parts.js";
import { mountPlates } from "./plates.js";
import { mountProcedure } from "./procedure.js";
import { createStatus, effectOf } from "./status.js";
import { CANCELLED, ENDED } from "./sources.js";
import { SpanPicker } from "./spanpick.js";
import { createStore, stepKeys } from "./store.js";
import { Takeaway } from "./takeaway.js";
import { compileEngine } from "./wasm.js";
import { Taker } from "./work.js";
import { WrittenPart } from "./written.js";
import { keepChoice, learn, retell, say, speechOfEngine, textsNow, unlearnt } from "./words.js";

/** @import { Drawing } from "./drawing.js" */
/** @import { Edit, Fault, View } from "./protocol.js" */
/** @import { Speech } from "./words.js" */

/** Holds the parts of the page together. */
export class App {
    store = createStore();
    notices = createNotices(byId("notices", HTMLElement));
    status = createStatus(byId("status", HTMLElement));
    busy = mountBusy((text) => this.status.say(text));
    /** @type {EngineLink | null} */
    link = null;
    /** @type {ReturnType<typeof mountPlates> | null} */
    plates = null;
    spans = new SpanPicker(this);
    opener = new Opener(this);
    taker = new Taker(this);
    written = new WrittenPart();
    away = new Takeaway(this);
    /** @type {Drawing | null} */
    drawing = null;

    constructor() {
        this.queue = new EditQueue({
            send: (edit, key) => this.#send(edit, key),
            keys: () => this.keys(),
            onFault: (fault) => this.#refuse(fault),
        });
        this.ready = this.#start();
        this.ready.catch((fault) => this.notices.raise(fault, true));
        const keeper = new Autosave(this);
        this.keeper = keeper;
        this.written.onChange = () => keeper.later();
        const render = mountProcedure(
            byId("procedure", HTMLElement),
            byId("stage-links", HTMLElement),
            this.#procedureActs(),
        );
        const follow = placePlates(byId("plates", HTMLElement), byId("spread", HTMLElement));
        this.store.subscribe((state) => {
            showFrame(state);
            render(state);
            follow(state.inHand);
            this.plates?.render(state);
        });
    }

    async #start() {
        const [module, worker] = await Promise.all([compileEngine(), workerMaker()]);
        const glue = await import("../pkg/page.js");
        await glue.default({ module_or_path: module });
        const drawing = /** @type {Drawing} */ (/** @type {unknown} */ (glue));
        const { language, texts, comma, iso } = speechOfEngine();
        drawing.speak(language, texts, comma, iso);
        const link = new EngineLink(module, worker, (fault, isLost) => {
            this.notices.raise(fault, true);
            if (isLost) {
                this.store.dispatch({ type: "emptied" });
            }
        });
        this.link = link;
        this.drawing = drawing;
        this.plates = mountPlates(byId("plates", HTMLElement), drawing, {
            plan: (ask) => link.plan(ask),
            take: (step, figure) => this.store.dispatch({ type: "step-taken", step, figure }),
            useSpan: (value) => this.spans.use(value),
            save: {
                save: (what, ending, content, type) =>
                    download(this.away.fileName(what, ending), content, type),
                copy: (picture) => copyPicture(picture),
                refuse: (fault) => this.notices.raise(fault),
            },
        });
        return link;
    }

    /** The keys of the steps as they now are. */
    keys() {
        const { view } = this.store.get();
        return view === null ? [] : stepKeys(view);
    }

    /**
     * Sends an edit; settles when the figures in sight follow it, while the
     * steps after them may still run.
     *
     * @param {Edit} edit
     * @param {string | null} key
     * @returns {Promise<void>}
     */
    async #send(edit, key) {
        const link = await this.ready;
        const since = performance.now();
        const first = Math.max(this.keys().indexOf(key ?? this.store.get().inHand ?? ""), 0);
        return new Promise((settle) => {
            const onSoFar = (/** @type {View} */ view) => {
                this.store.dispatch({ type: "view-so-far", view });
                settle();
            };
            const run = (/** @type {(fraction: number, doing: string) => void} */ onProgress) =>
                link.edit(edit, { first, onProgress, onSoFar });
            this.busy
                .during(say("Running the procedure"), () => link.cancel(), run)
                .then((view) => {
                    if (view !== null) {
                        this.store.dispatch({ type: "view-arrived", view });
                        this.#tellLater(key, since);
                    }
                })
                .catch((fault) => this.#refuse(fault))
                .finally(settle);
        });
    }

    /**
     * Says what the edit did, once edits rest.
     *
     * @param {string | null} key
     * @param {number} since
     */
    #tellLater(key, since) {
        this.status.later(() => {
            const { view } = this.store.get();
            return view === null ? "" : effectOf(view, this.keys().indexOf(key ?? ""));
        }, since);
    }

    /** @param {Fault} fault */
    #refuse(fault) {
        const { whole } = this.store.get();
        if (whole !== null) {
            this.store.dispatch({ type: "view-arrived", view: whole });
        }
        if (fault.code === CANCELLED) {
            this.status.say(say("Given up. The results before it stay."));
        } else if (fault.code !== ENDED) {
            this.notices.raise(fault);
        }
    }

    /** @param {File[]} files */
    open(files) {
        return this.opener.open(files);
    }

    demo() {
        return this.opener.demo();
    }

    /**
     * Speaks otherwise from now on: what is open is read and run anew, so that
     * all of it is said in the new words.
     *
     * @param {Speech} wanted
     */
    async speak(wanted) {
        const before = textsNow();
        try {
            await learn(wanted);
            this.notices.lower(unlearnt.code);
        } catch {
            return this.notices.raise(unlearnt);
        }
        keepChoice(wanted);
        retell(before);
        this.written.retell();
        const link = await this.ready;
        const { language, texts, comma, iso } = speechOfEngine();
        this.drawing?.speak(language, texts, comma, iso);
        // Started anew, the engine speaks as the page does.
        link.cancel();
        if (this.store.get().view !== null) {
            try {
                const view = await this.busy.during(say("Running the procedure"), () => link.cancel(), (onProgress) =>
                    link.view({ onProgress }),
                );
                this.plates?.retell();
                this.store.dispatch({ type: "view-arrived", view });
                this.status.say(view.summary);
            } catch (fault) {
                this.#refuse(/** @type {Fault} */ (fault));
            }
        }
    }

    /** @param {Fault} fault */
    failed(fault) {
        if (fault.code === CANCELLED) {
            this.status.say(say("Given up. Nothing was opened."));
        } else if (fault.code !== ENDED) {
            this.notices.raise(fault, true);
        }
    }

    /**
     * Sends an edit that belongs to no one step.
     *
     * @param {() => Edit} edit
     */
    edit(edit) {
        return this.queue.push({ key: null, edit });
    }

    undo() {
        void this.edit(() => ({ kind: "undo" }));
    }

    redo() {
        void this.edit(() => ({ kind: "redo" }));
    }

    /** @returns {import("./procedure.js").ProcedureActs} */
    #procedureActs() {
        return {
            step: (key) => ({
                edit: (edit, typing) => this.queue.push({ key, edit, typing }),
                nudge: (param, by) =>
                    this.queue.push({
                        key,
                        typing: param,
                        by,
                        edit: (step, all) => ({ kind: "nudge", step, param, by: all }),
                    }),
                take: (figure) => this.store.dispatch({ type: "step-taken", step: key, figure }),
                pickSpan: (param) => this.spans.pick({ key, param }),
            }),
            add: (id) => void this.edit(() => ({ kind: "add", id })),
            inputs: {
                choose: (input, decision, alternative) =>
                    void this.reread(input, decision, alternative),
                close: (input) => void this.#close(input),
            },
            handIn: this.away.acts(),
        };
    }

    /**
     * @param {number} input
     * @param {string} decision
     * @param {string} alternative
     */
    async reread(input, decision, alternative) {
        const link = await this.ready;
        try {
            const view = await this.busy.during(say("Reading again"), () => link.cancel(), (onProgress) =>
                link.choose(input, decision, alternative, { onProgress }),
            );
            this.store.dispatch({ type: "view-arrived", view });
            this.status.say(view.summary);
        } catch (fault) {
            this.#refuse(/** @type {Fault} */ (fault));
        }
    }

    /** @param {number} input */
    async #close(input) {
        const link = await this.ready;
        const view = await link.close(input);
        if (view.inputs.length === 0) {
            this.empty();
            byId("demo", HTMLButtonElement).focus();
        } else {
            this.store.dispatch({ type: "view-arrived", view });
        }
    }

    /** Goes back to the first view; what was open is gone. */
    empty() {
        this.plates?.forget();
        this.store.dispatch({ type: "emptied" });
    }
}
