/* The hand-in: the methods as prose, and what can be taken away. */

import { button, make } from "./dom.js";
import { replaceIfChanged } from "./remarks.js";

/** @import { View } from "./protocol.js" */

/**
 * @typedef {object} HandInActs
 * @property {() => void} copyMethods
 * @property {() => void} saveProcessed
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
    const summary = make("summary", { text: "Methods, as you hand them in" });
    const copy = button("Copy the methods", acts.copyMethods);
    const details = make("details", {}, summary, methods, copy);
    const calibration = button("Save the calibration", acts.saveCalibration);
    const row = make(
        "div",
        { class: "row" },
        button("Save the processed data", acts.saveProcessed),
        button("Save the procedure", acts.saveProcedure),
        calibration,
        button("Print", acts.print),
        button("Start from the proposed procedure", acts.reset),
    );
    return {
        root: make("div", { class: "entry handin" }, details, row),
        update(view) {
            calibration.hidden = !view.calibration;
            const paragraphs = view.methods.split(/\n+/).filter((text) => text !== "");
            replaceIfChanged(methods, paragraphs, (text) => make("p", { text }));
        },
    };
}
