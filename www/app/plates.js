/*
 * The right page: the figure of the step in hand as a numbered plate, with
 * its caption, its words, its table, a cursor and the ways to zoom and save.
 */

import { button, make, setAttribute, setText } from "./dom.js";
import { Cursor } from "./cursor.js";
import { followPointer } from "./gestures.js";
import { onPaletteChange } from "./palette.js";
import { Plate } from "./plate.js";
import { firstPlates } from "./procedure.js";
import { replaceIfChanged } from "./remarks.js";
import { mountSaves } from "./savefigure.js";
import { SpanMarker } from "./span.js";
import { stepKeys } from "./store.js";
import { say } from "./words.js";

/** @import { Drawing, PlanTable, PlanWords } from "./drawing.js" */
/** @import { State } from "./store.js" */
/** @import { SaveActs } from "./savefigure.js" */

/** The table beside a figure is for reading; all rows are in its CSV. */
const TABLE_ROWS = 100;

/**
 * @typedef {object} PlateActs
 * @property {Plate["ask"]} plan
 * @property {(step: string, figure: string) => void} take
 * @property {(value: string) => void} useSpan
 * @property {SaveActs} save
 */

/**
 * @param {HTMLElement} host
 * @param {Drawing} drawing
 * @param {PlateActs} acts
 */
export function mountPlates(host, drawing, acts) {
    const parts = build();
    host.replaceChildren(parts.root);
    const cursor = new Cursor(parts.line, parts.room);
    const plate = new Plate({
        ...parts,
        drawing,
        ask: acts.plan,
        onDrawn: (words) => {
            tell(parts, plate, words);
            cursor.follow(plate);
            span.forget();
        },
    });
    const span = new SpanMarker(plate, parts.shade, acts.useSpan);
    mountTools(parts, plate, cursor, span, mountSaves(plate, acts.save));
    parts.cursor.append(cursor.root, cursor.readout);
    parts.spanHere.append(span.root);
    onPaletteChange(() => plate.draw());
    printWell(parts, plate);

    /** @param {Readonly<State>} state */
    const render = (state) => {
        const keys = state.view === null ? [] : stepKeys(state.view);
        const at = keys.indexOf(state.inHand ?? "");
        const step = state.view?.steps[at];
        if (state.view === null || step === undefined) {
            plate.show(null);
            return;
        }
        const first = firstPlates(state.view)[at] ?? 1;
        const named = step.figures.map((one, nth) => ({ ...one, plate: first + nth }));
        replaceIfChanged(parts.which, named.length > 1 ? named : [], ({ name, title }) =>
            button(title, () => acts.take(keys[at] ?? "", name), { "data-figure": name }),
        );
        for (const one of parts.which.children) {
            const isShown = one.getAttribute("data-figure") === state.figure;
            setAttribute(one, "aria-pressed", isShown ? "true" : "false");
        }
        const shown = named.find(({ name }) => name === state.figure);
        if (shown !== undefined) {
            setText(parts.number, say("Plate {plate}. ", { plate: shown.plate }));
            const key = keys[at] ?? "";
            plate.show({ step: at, key, figure: shown.name, seq: state.seq });
        }
        setAttribute(parts.root, "data-without", shown === undefined);
        parts.without.hidden = shown !== undefined;
        setText(parts.without, say("{title} has no figure of its own.", { title: step.title }));
    };
    const retell = () => plate.refresh();
    return { render, span, retell, forget: () => plate.zooms.clear() };
}

function build() {
    const which = make("div", {
        class: "plate__which",
        role: "group",
        "aria-label": say("Figures of this step"),
    });
    // A figure runs from left to right whatever the page's language does.
    const canvas = make("canvas", { class: "plate__canvas", dir: "ltr", "aria-hidden": "true" });
    const line = make("div", { class: "plate__line", hidden: true });
    const shade = make("div", { class: "plate__window", hidden: true });
    const print = make("div", { class: "plate__print" });
    const room = make("div", { class: "plate__room" }, canvas, shade, line);
    const without = make("p", { class: "plate__words", hidden: true });
    const cursor = make("div", { class: "plate__cursor", dir: "ltr" });
    const tools = make("div", { class: "plate__tools" });
    const spanHere = make("div");
    const number = make("span", { class: "plate__number" });
    const caption = make("span");
    const words = make("p", { class: "plate__words" });
    const source = make("p", { class: "plate__source" });
    const holder = make("div", { class: "scroll", tabindex: "0", role: "region" });
    setAttribute(holder, "aria-label", say("Numbers of the figure"));
    const details = make("details", {}, make("summary", { text: say("The numbers") }), holder);
    const title = make("p", { class: "plate__caption" }, number, caption);
    const figcaption = make("figcaption", {}, title, words);
    const more = make("div", { class: "plate__more" }, details);
    const root = make("figure", { class: "plate" }, which, without, room, print, cursor, spanHere);
    root.append(figcaption, tools, more, source);
    const around = { without, cursor, tools, spanHere, more };
    const told = { number, caption, words, source, details, holder };
    return { root, which, room, canvas, line, shade, print, ...around, ...told };
}

/** @typedef {ReturnType<typeof build>} Parts */

/**
 * @param {Parts} parts
 * @param {Plate} plate
 * @param {PlanWords | null} words
 */
function tell(parts, plate, words) {
    setText(parts.caption, words?.caption ?? "");
    setText(parts.words, words?.summary ?? "");
    setText(parts.source, words?.provenance ?? "");
    if (parts.details.open) {
        fillTable(parts, plate);
    }
}

/**
 * @param {Parts} parts
 * @param {Plate} plate
 */
function fillTable(parts, plate) {
    if (plate.plan === null) {
        return;
    }
    const told = plate.drawing.plan_table(plate.plan, TABLE_ROWS);
    const { caption, columns, rows } = /** @type {PlanTable} */ (JSON.parse(told));
    const heads = columns.map((text) => make("th", { scope: "col", text }));
    const body = rows.map(([first = "", ...rest]) => {
        const cells = rest.map((text) => make("td", { text }));
        return make("tr", {}, make("th", { scope: "row", text: first }), ...cells);
    });
    const table = make("table", {}, make("caption", { text: caption }));
    table.append(make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...body));
    parts.holder.replaceChildren(table);
}

/**
 * Buttons and keys.  Single keys count only while the figure has the focus.
 *
 * @param {Parts} parts
 * @param {Plate} plate
 * @param {Cursor} cursor
 * @param {SpanMarker} span
 * @param {ReturnType<typeof mountSaves>} saves
 */
function mountTools(parts, plate, cursor, span, saves) {
    const near = () => plate.zoom(2, cursor.place());
    const far = () => plate.zoom(0.5, cursor.place());
    /** @type {Record<string, () => void>} */
    const keys = {
        "+": near,
        "=": near,
        "-": far,
        0: () => plate.reset(),
        "[": () => span.begin(cursor.place()),
        "]": () => span.end(cursor.place()),
        ",": () => plate.slide(-0.25),
        ".": () => plate.slide(0.25),
    };
    parts.tools.append(
        button(say("Nearer"), near, { title: say("+ with the cursor in hand") }),
        button(say("Farther"), far, { title: "−" }),
        button(say("Earlier"), () => plate.slide(-0.25), { title: say("comma"), "aria-label": say("Earlier: pan left") }),
        button(say("Later"), () => plate.slide(0.25), { title: say("full stop"), "aria-label": say("Later: pan right") }),
        button(say("Back"), () => plate.back(), { title: say("the zoom before"), "aria-label": say("Back to the zoom before") }),
        button(say("All"), () => plate.reset(), { title: "0", "aria-label": say("All of the figure") }),
        span.toggle,
        ...saves.buttons,
    );
    parts.more.append(saves.size);
    parts.root.addEventListener("keydown", (event) => {
        const act = keys[event.key];
        const isField = event.target instanceof HTMLInputElement && event.target.type === "text";
        if (act !== undefined && !isField && !event.ctrlKey && !event.metaKey && !event.altKey) {
            event.preventDefault();
            act();
        }
    });
    parts.details.addEventListener("toggle", () => parts.details.open && fillTable(parts, plate));
    pointAt(parts, plate, cursor, span);
}

/**
 * @param {Parts} parts
 * @param {Plate} plate
 * @param {Cursor} cursor
 * @param {SpanMarker} span
 */
function pointAt(parts, plate, cursor, span) {
    followPointer(parts.room, {
        point: (x, y) => cursor.point(x, y),
        leave: () => undefined,
        framing: (x0, x1) => span.frame(x0, x1),
        framed: (x0, x1) => {
            if (!span.framed(x0, x1)) {
                plate.window(Math.min(x0, x1), Math.max(x0, x1));
            }
        },
        dropped: () => span.forget(),
        panBegins: () => plate.hold(),
        pan: (dx) => plate.panHeld(dx),
        zoom: (factor, x) => plate.zoom(factor, x),
        whole: () => plate.reset(),
    });
}

/**
 * On paper the canvas gives way to the same plan as lines and real text.
 *
 * @param {Parts} parts
 * @param {Plate} plate
 */
function printWell(parts, plate) {
    window.addEventListener("beforeprint", () => {
        if (plate.plan === null) {
            return;
        }
        const text = plate.drawing.plan_svg(plate.plan, 170, 100);
        const drawn = new window.DOMParser().parseFromString(text, "image/svg+xml").documentElement;
        parts.print.replaceChildren(document.importNode(drawn, true));
        setAttribute(parts.canvas, "data-printed", true);
    });
}
