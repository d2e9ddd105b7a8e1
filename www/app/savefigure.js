/*
 * The figure to take away: SVG with real text, PNG at a size in millimetres,
 * the numbers that are drawn in these two as CSV, or a copy for another document.
 */

import { button, make } from "./dom.js";
import { PRINT } from "./palette.js";
import { hasComma, mountForm } from "./saveform.js";
import { say } from "./words.js";

/** @import { Plate } from "./plate.js" */
/** @import { Fault } from "./protocol.js" */
/** @import { Size } from "./saveform.js" */

/**
 * @typedef {object} SaveActs
 * @property {(what: string, ending: string, content: BlobPart, type: string) => void} save
 * @property {(picture: Promise<Blob>) => Promise<void>} copy
 * @property {(fault: Fault) => void} refuse
 */

/** CSS pixels to the inch (CSS Values and Units Level 4, "absolute lengths"). */
const PX_PER_INCH = 96;
const MM_PER_INCH = 25.4;

/** What the smallest of the supported browsers can hold in one canvas. */
const MOST_PIXELS = 16_777_216;

/**
 * @param {Plate} plate
 * @param {SaveActs} acts
 */
export function mountSaves(plate, acts) {
    const form = mountForm();
    /** @param {(size: Size) => Promise<void>} save */
    const doing = (save) => () => {
        save(form.size()).catch((/** @type {Fault} */ fault) => acts.refuse(fault));
    };
    const name = () => plate.wanted?.figure ?? "figure";
    const buttons = [
        button("SVG", doing(async (wanted) => {
            const plan = await planFor(plate, wanted);
            const text = plate.drawing.plan_svg(plan, wanted.width, wanted.height);
            acts.save(name(), "svg", text, "image/svg+xml");
        }), { "aria-label": say("Save the figure as SVG") }),
        button("PNG", doing(async (wanted) => {
            acts.save(name(), "png", await png(plate, wanted), "image/png");
        }), { "aria-label": say("Save the figure as PNG") }),
        button("CSV", doing(async (wanted) => {
            const plan = await planFor(plate, wanted);
            acts.save(name(), "csv", plate.drawing.plan_csv(plan), "text/csv");
        }), { "aria-label": say("Save the numbers of the figure as CSV") }),
        button(say("Copy"), doing(async (wanted) => acts.copy(png(plate, wanted))), {
            "aria-label": say("Copy the figure"),
        }),
    ];
    form.root.append(button(say("CSV for a spreadsheet"), doing(async (wanted) => {
        const plan = await planFor(plate, wanted);
        const { drawing } = plate;
        const text = drawing.csv_for_spreadsheet(drawing.plan_csv(plan), hasComma());
        acts.save(`${name()}-sheet`, "csv", text, "text/csv");
    })));
    return { buttons, size: form.details };
}

/**
 * The figure as it is shown, laid out for paper.
 *
 * @param {Plate} plate
 * @param {Size} size
 */
async function planFor(plate, { width, height }) {
    const wanted = plate.wanted;
    if (wanted === null) {
        throw nothing;
    }
    return plate.ask({
        type: "plan",
        step: wanted.step,
        figure: wanted.figure,
        width,
        height,
        print: true,
        zoom: plate.zooms.of(plate.name),
    });
}

/**
 * @param {Plate} plate
 * @param {Size} size
 * @returns {Promise<Blob>}
 */
async function png(plate, size) {
    const plan = await planFor(plate, size);
    const canvas = make("canvas");
    canvas.width = Math.round((size.width / MM_PER_INCH) * size.dpi);
    canvas.height = Math.round((size.height / MM_PER_INCH) * size.dpi);
    if (canvas.width * canvas.height > MOST_PIXELS) {
        throw tooLarge;
    }
    const context = canvas.getContext("2d");
    if (context !== null) {
        // It stands nowhere, and would take the direction of the page's language.
        context.direction = "ltr";
    }
    plate.drawing.draw_sheet(canvas, plan, PRINT, size.dpi / PX_PER_INCH);
    const blob = await new Promise((/** @type {(blob: Blob | null) => void} */ done) =>
        canvas.toBlob(done, "image/png"),
    );
    canvas.width = 1;
    canvas.height = 1;
    if (blob === null) {
        throw tooLarge;
    }
    const bytes = new Uint8Array(await blob.arrayBuffer());
    const dense = plate.drawing.png_with_density(bytes, size.dpi);
    return new Blob([new Uint8Array(dense)], { type: "image/png" });
}

/** @type {Fault} */
const nothing = {
    code: "page/no-figure",
    message: "There is no figure to save.",
    place: "",
    remedy: "Take a step in hand that has one.",
};

/** @type {Fault} */
const tooLarge = {
    code: "page/picture-too-large",
    message: "This size and density make a picture of more pixels than a browser can draw.",
    place: "",
    remedy: "Choose fewer dots per inch or a smaller size; the SVG has no such limit.",
};
