/* How a figure is saved: for what, at which size, and how a spreadsheet writes decimals. */

import { make } from "./dom.js";
import { say } from "./words.js";

/** @typedef {{ width: number, height: number, dpi: number }} Size */

/** @type {{ id: string, text: string, size: Size }[]} */
const USES = [
    { id: "page", text: "a page", size: { width: 170, height: 100, dpi: 300 } },
    { id: "column", text: "half a page", size: { width: 85, height: 65, dpi: 300 } },
    { id: "slide", text: "a slide", size: { width: 254, height: 143, dpi: 150 } },
    { id: "poster", text: "a poster", size: { width: 400, height: 240, dpi: 300 } },
];

const OWN = "own";

// What this machine's own spreadsheet is likely to expect; the choice stays in sight.
let comma = new Intl.NumberFormat().format(1.5).includes(",");

/** Whether a spreadsheet is to have a comma for its decimal mark. */
export function hasComma() {
    return comma;
}

export function mountForm() {
    const width = numberField(say("Width / mm"), 170);
    const height = numberField(say("Height / mm"), 100);
    const dpi = numberField(say("Dots per inch"), 300);
    const options = USES.map(({ id, text }) => make("option", { value: id, text: say(text) }));
    const use = make("select", { class: "field" }, ...options);
    use.append(make("option", { value: OWN, text: say("another size") }));
    use.addEventListener("change", () => {
        const chosen = USES.find(({ id }) => id === use.value)?.size;
        if (chosen !== undefined) {
            width.write(chosen.width);
            height.write(chosen.height);
            dpi.write(chosen.dpi);
        }
    });
    for (const { input } of [width, height, dpi]) {
        input.addEventListener("input", () => {
            use.value = OWN;
        });
    }
    const marks = [
        make("option", { value: "point", text: "a point, 1.5" }),
        make("option", { value: "comma", text: "a comma, 1,5" }),
    ];
    const decimals = make("select", { class: "field" }, ...marks);
    decimals.value = comma ? "comma" : "point";
    decimals.addEventListener("change", () => {
        comma = decimals.value === "comma";
    });
    const root = make("div", { class: "save" });
    root.append(make("label", {}, say("For"), use), width.root, height.root, dpi.root);
    root.append(make("label", {}, say("Spreadsheet decimals"), decimals));
    const details = make("details", {}, make("summary", { text: say("Size and form of what is saved") }), root);
    return {
        root,
        details,
        /** @returns {Size} */
        size: () => ({
            width: width.read(40, 500),
            height: height.read(30, 500),
            dpi: dpi.read(72, 1200),
        }),
    };
}

/**
 * @param {string} text
 * @param {number} value
 */
function numberField(text, value) {
    const input = make("input", { class: "field", type: "text", inputmode: "decimal", value });
    const write = (/** @type {number} */ number) => {
        input.value = String(number);
    };
    return {
        input,
        root: make("label", {}, text, input),
        write,
        /**
         * The number typed, kept within what can be drawn; the first one when
         * it is no number.
         *
         * @param {number} low
         * @param {number} high
         */
        read(low, high) {
            const typed = Number(input.value.replace(",", "."));
            const kept = Number.isFinite(typed) && input.value.trim() !== "" ? typed : value;
            const within = Math.min(Math.max(kept, low), high);
            write(within);
            return within;
        },
    };
}
