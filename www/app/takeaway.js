/*
 * What a student takes away: the share link, the hand-in, the zip, and the
 * parts of them as files.
 */

import { copyText, download } from "./download.js";
import { fileName } from "./names.js";
import { hasComma } from "./saveform.js";
import { say } from "./words.js";

/** @import { App } from "./app.js" */
/** @import { EngineLink } from "./engine.js" */
/** @import { HandInActs } from "./handin.js" */
/** @import { Fault } from "./protocol.js" */

/** How long edits rest before the address follows, milliseconds. */
const ADDRESS_MS = 900;

/** Rows that a sheet of a common spreadsheet can hold: 2^20 (common practice, no source). */
const SHEET_ROWS = 1_048_576;

/** @type {Fault} */
const tooLong = {
    code: "page/sheet-too-long",
    message: "The file has more rows than a common spreadsheet can open, 1,048,576.",
    place: "",
    remedy: "Average into longer blocks in the step Average, and save it again.",
};

/** Makes and saves what leaves the page. */
export class Takeaway {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    #timer;

    /** @param {App} app */
    constructor(app) {
        this.app = app;
        app.store.subscribe((now, before) => {
            if (now.whole !== null && now.whole !== before.whole) {
                this.#addressLater();
            }
            if (now.view === null && before.view !== null) {
                this.#clearAddress();
            }
        });
    }

    /**
     * The name of a file about the open log.
     *
     * @param {string} what
     * @param {string} ending
     */
    fileName(what, ending) {
        const log = this.app.store.get().view?.inputs.find((input) => input.use === "log");
        return fileName(log?.name ?? "log", what, log?.date ?? "", ending);
    }

    /** @returns {HandInActs} */
    acts() {
        const { app } = this;
        const procedure = () =>
            void this.#export("procedure-json", "procedure", "json", "application/json");
        return {
            written: app.written.root,
            share: {
                link: () => this.shareLink(),
                drawing: () => app.drawing,
                copy: (text, place) => void this.#copy(text, place),
                saveProcedure: procedure,
            },
            saveHandIn: () => void this.#saveHandIn(),
            saveAll: () => void this.#saveAll(),
            forget: () => void app.keeper?.forget(),
            copyMethods: () => {
                const text = app.store.get().view?.methods ?? "";
                void this.#copy(text, document.querySelector(".handin__methods"));
            },
            saveProcessed: () => void this.#export("processed-csv", "processed", "csv", "text/csv"),
            saveSheet: () => void this.#saveSheet(),
            saveProcedure: procedure,
            saveCalibration: () =>
                void this.#export("calibration-json", "calibration", "json", "application/json"),
            reset: () => void app.edit(() => ({ kind: "reset" })),
            print: () => window.print(),
        };
    }

    // The link in the address can be kept as a bookmark; it is written once
    // edits rest, and where the address may not be changed it stays as it is.
    #addressLater() {
        clearTimeout(this.#timer);
        this.#timer = setTimeout(() => {
            const write = async () => history.replaceState(null, "", await this.shareLink());
            write().catch(() => undefined);
        }, ADDRESS_MS);
    }

    #clearAddress() {
        clearTimeout(this.#timer);
        try {
            history.replaceState(null, "", location.href.replace(/#.*$/, ""));
        } catch {
            // The address stays as it is.
        }
    }

    /**
     * The whole address of the share link.
     *
     * @returns {Promise<string>}
     */
    async shareLink() {
        const link = await this.app.ready;
        const { inHand, figure } = this.app.store.get();
        const demo = link.sources.flatMap((one) => (one.kind === "demo" ? [one.name] : []));
        const isDemo = demo.length === link.sources.length && demo.length > 0;
        const shown = { step: inHand, figure, ...(isDemo ? { demo } : {}) };
        const fragment = await link.share({ type: "link", shown });
        return `${location.href.replace(/#.*$/, "")}#${fragment}`;
    }

    #saveHandIn() {
        return this.#saving(say("Writing the hand-in"), async (link) => {
            const html = await link.share({ type: "hand-in", written: this.app.written.get() });
            download(this.fileName("hand-in", "html"), html, "text/html");
        });
    }

    #saveAll() {
        return this.#saving(say("Packing everything"), async (link) => {
            const name = this.fileName("all", "zip");
            const folder = name.replace(/\.zip$/, "");
            const zip = await link.share({ type: "archive", written: this.app.written.get(), folder });
            download(name, zip, "application/zip");
        });
    }

    #saveSheet() {
        return this.#saving(say("Writing the spreadsheet"), async (link) => {
            const csv = await link.export("processed-csv");
            const sheet = this.app.drawing?.csv_for_spreadsheet(csv, hasComma()) ?? "";
            download(this.fileName("processed-sheet", "csv"), sheet, "text/csv");
            if (sheet.split("\n", SHEET_ROWS + 2).length > SHEET_ROWS + 1) {
                this.app.notices.raise(tooLong);
            }
        });
    }

    /**
     * @param {string} doing
     * @param {(link: EngineLink) => Promise<void>} save
     */
    async #saving(doing, save) {
        const { app } = this;
        const link = await app.ready;
        try {
            await app.busy.during(doing, () => link.cancel(), () => save(link));
            app.status.say(say("Saved."));
        } catch (fault) {
            app.failed(/** @type {Fault} */ (fault));
        }
    }

    /**
     * @param {string} text
     * @param {HTMLElement | null} place
     */
    async #copy(text, place) {
        try {
            await copyText(text, place);
            this.app.status.say(say("Copied."));
        } catch (fault) {
            this.app.notices.raise(/** @type {Fault} */ (fault));
        }
    }

    /**
     * @param {string} what
     * @param {string} name
     * @param {string} ending
     * @param {string} type
     */
    async #export(what, name, ending, type) {
        const link = await this.app.ready;
        try {
            download(this.fileName(name, ending), await link.export(what), type);
        } catch (fault) {
            this.app.failed(/** @type {Fault} */ (fault));
        }
    }
}
