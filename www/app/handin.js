/* The hand-in: the methods as prose, and what can be taken away. */

import { button, make } from "./dom.js";
import { replaceIfChanged } from "./remarks.js";
import { mountShare } from "./share.js";
import { say } from "./words.js";

/** @import { View } from "./protocol.js" */

/**
 * @typedef {object} HandInActs
 * @property {HTMLElement} written fields for title, names and answers
 * @property {Parameters<typeof mountShare>[0]} share
 * @property {() => void} saveHandIn
 * @property {() => void} saveAll
 * @property {() => void} forget
 * @property {() => void} copyMethods
 * @property {() => void} saveProcessed
 * @property {() => void} saveSheet
 * @property {() => void} saveProcedure
 * @property {() => void} saveCalibration
 * @property {() => void} reset
 * @property {() => void} print
 */

/**
 * @param {HandInActs} acts
 * @returns {{ root: HTMLElement, update: (view: View) => void }}
 */
export function mountHandIn(acts) {
    const methods = make("div", { class: "handin__methods" });
    const summary = make("summary", { text: say("Methods, as you hand them in") });
    const copy = button(say("Copy the methods"), acts.copyMethods);
    const details = make("details", {}, summary, methods, copy);
    const calibration = button(say("Save the calibration"), acts.saveCalibration);
    const share = mountShare(acts.share);
    const main = button(say("Save the hand-in"), acts.saveHandIn, { class: "main-button" });
    const told = make("p", {
        class: "handin__told",
        text: say("One file with figures, methods, results and your answers. It opens anywhere, prints on A4, and dropped on this page it brings your work back."),
    });
    const first = make("div", { class: "row" }, main, button(say("Print this page"), acts.print));
    const row = make(
        "div",
        { class: "row" },
        button(say("Save everything as a zip"), acts.saveAll),
        button(say("Save the processed data"), acts.saveProcessed),
        button(say("Processed data for a spreadsheet"), acts.saveSheet),
        button(say("Save the procedure"), acts.saveProcedure),
        calibration,
        button(say("Start from the proposed procedure"), acts.reset),
        button(say("Forget everything on this computer"), acts.forget),
    );
    return {
        root: make("div", { class: "entry handin" }, acts.written, first, told, details, share.root, row),
        update(view) {
            share.update();
            calibration.hidden = !view.calibration;
            const paragraphs = view.methods.split(/\n+/).filter((text) => text !== "");
            replaceIfChanged(methods, paragraphs, (text) => make("p", { text }));
        },
    };
}
