// An engine that only pretends: the same names as the real one, a short procedure with slots of
// every kind, and a figure that is a sine.  It lets the page be tried without building anything.

const STEPS = () => [
    step("read", "Log", "Read", "ok", [{ text: "Read the log as it stands, times in UTC." }], []),
    step("station", "Log", "Station", "ok",
        [{ text: "The sensor stood at latitude " }, { slot: "latitude" },
            { text: ", at a place called " }, { slot: "place" }, { text: "." }],
        [slot("latitude", "number", "Latitude", "57.4", "°", "From −90° to 90°."),
            slot("place", "text", "Place name", "Tern Skerry", "", "Up to 80 characters.")]),
    step("spikes", "Clean", "Spikes", "ok",
        [{ text: "Mark as spikes the samples more than " }, { slot: "threshold" },
            { text: " robust deviations from the median of " }, { slot: "neighbours" },
            { text: " neighbours." }],
        [slot("threshold", "number", "Spike threshold", "5", "", "From 1 to 50."),
            slot("neighbours", "integer", "Spike neighbours", "11", "",
                "A whole odd number from 3 to 101.")],
        ["series", "histogram"]),
    step("exclude", "Clean", "Exclude", "ok",
        [{ text: "Leave out " }, { slot: "span" }, { text: "." }],
        [slot("span", "span", "Span left out", "", "", "Two times in UTC.")], ["series"]),
    step("calibrate", "Calibrate", "Calibration", "ok",
        [{ text: "Fit " }, { slot: "model" }, { text: " to the turning log." }],
        [slot("model", "choice", "Calibration model", "ellipsoid", "", "One of two.",
            [["ellipsoid", "an ellipsoid"], ["sphere", "a sphere"]])], ["projections"]),
    step("spectrum", "Spectrum", "Spectrum", "refused",
        [{ text: "Estimate the spectrum with segments of " }, { slot: "segment" }, { text: "." }],
        [slot("segment", "number", "Segment length", "7", "d", "From 0.5 d to 60 d.")],
        ["spectrum"]),
];

function slot(key, kind, label, value, unit, hint, options = []) {
    const offered = options.map(([id, name]) => ({ id, label: name }));
    const said = value === "" ? "the whole record" : value;
    return { key, kind, label, value, said, unit, hint, options: offered, error: null, note: null };
}

function step(id, stage, title, status, sentence, slots, figures = []) {
    return {
        id, stage, title, status, sentence, slots,
        on: true, removable: stage !== "Log", up: false, down: false,
        remark: "", fault: null, warnings: [], results: [],
        figures: figures.map((name) => ({ name, title: `Picture of ${name}` })),
        why: { what: "It does this.", why: "For that reason.", wrong: "This can go wrong.", picture: "It shows this." },
    };
}

/** How many steps long work takes. */
const LONG = 50;

const LIMITS = { threshold: [1, 50], neighbours: [3, 101], latitude: [-90, 90], segment: [0.5, 60] };

export class Engine {
    #inputs = [];
    #steps = STEPS();
    #undo = [];
    #redo = [];
    #before = null;
    #name = "";
    #bytes = 0;
    #left = 0;

    begin(name) {
        this.#name = name;
        this.#bytes = 0;
    }

    leave_hash() {}

    push(bytes) {
        this.#bytes += bytes.length;
        if (new TextDecoder().decode(bytes.subarray(0, 5)) === "panic") {
            throw new WebAssembly.RuntimeError("unreachable");
        }
    }

    finish() {
        if (this.#bytes === 0) {
            throw JSON.stringify({
                code: "intake/empty", message: `${this.#name} holds nothing.`, place: "",
                remedy: "Copy the file from the card again.",
            });
        }
        this.#add(this.#name);
    }

    add_demo(kind) {
        this.#add(`tern-skerry-${kind}.csv`);
    }

    #add(name) {
        this.#left = 2;
        const use = this.#inputs.length === 0 ? "log" : "turning";
        this.#inputs.push({
            index: this.#inputs.length, name, use,
            facts: "172,800 samples, 1 May 2026 00:00 to 29 June 2026 23:59 UTC",
            report: {
                sha256: "0".repeat(64), prose: [`${name} was read as CSV in UTF-8.`],
                decisions: [
                    { id: "dates", sentence: "Dates are day first.", evidence: "Row 412 is 25/03.",
                        chosen: "day", ambiguous: true, typed: null,
                        alternatives: [{ id: "day", label: "day first" },
                            { id: "month", label: "month first" }] },
                    { id: "unit", sentence: "Units are µT.", evidence: "The header says so.",
                        chosen: "uT", ambiguous: false, typed: null, alternatives: [] },
                ],
                columns: [{ name: "bx_uT", role: "x", unit: "µT", evidence: "name", values: "172,800",
                    missing: "0", range: "17.1 to 17.6 µT", step: "none seen", saturated: "0",
                    repeated: "2" }],
                rejected: [{ line: 88, text: "2026-05-01T", reason: "1 value where 5 are named" }],
                rejected_total: 1, warnings: [],
            },
        });
    }

    remove_input(place) {
        this.#inputs.splice(place, 1);
    }

    // With a spike threshold of 13 the work is long: a step at once, then more of 60 ms each.
    advance() {
        const isLong = this.#steps.some(({ slots }) => slots[0]?.value === "13");
        const end = Date.now() + (isLong && this.#left < LONG ? 60 : 0);
        while (Date.now() < end);
        this.#left = Math.max(this.#left - 1, 0);
        return this.#left === 0;
    }

    fraction() {
        return 1 - this.#left / LONG;
    }

    reached() {
        return this.#left < LONG;
    }

    view_so_far() {
        const view = JSON.parse(this.view());
        view.steps.slice(3).forEach((one) => {
            Object.assign(one, { status: "waiting", remark: "", results: [], figures: [] });
        });
        return JSON.stringify(view);
    }

    #remember() {
        this.#undo.push(structuredClone(this.#before ?? this.#steps));
        this.#redo = [];
        this.#before = null;
    }

    edit(text) {
        const edit = JSON.parse(text);
        const held = this.#steps[edit.step];
        this.#left = edit.value === "13" ? LONG : 1;
        this.#does[edit.kind](edit, held, held?.slots.find((one) => one.key === edit.param));
    }

    #does = {
        set: ({ value, live }, _held, param) => this.#set(param, value, live),
        nudge: ({ by }, _held, param) => {
            this.#before ??= structuredClone(this.#steps);
            param.value = String(Number(param.value) + by);
            param.said = param.value;
        },
        restore: ({ step: at, param: key }) => {
            this.#steps = this.#before ?? this.#steps;
            this.#before = null;
            const again = this.#steps[at].slots.find((one) => one.key === key);
            Object.assign(again, { error: null, note: null, value: again.said });
        },
        switch: ({ on }, held) => {
            this.#remember();
            Object.assign(held, { on, status: on ? "ok" : "off" });
        },
        remove: ({ step: at }) => {
            this.#remember();
            this.#steps.splice(at, 1);
        },
        move: ({ step: at, by }) => {
            this.#remember();
            this.#steps.splice(at + by, 0, ...this.#steps.splice(at, 1));
        },
        undo: () => this.#back(this.#undo, this.#redo),
        redo: () => this.#back(this.#redo, this.#undo),
        load: ({ procedure }) => {
            this.#steps = procedure.steps;
        },
    };

    #back(from, to) {
        if (from.length > 0) {
            to.push(this.#steps);
            this.#steps = from.pop();
        }
    }

    #set(param, value, live) {
        const [low, high] = LIMITS[param.key] ?? [-Infinity, Infinity];
        const number = Number(value.replace(",", "."));
        const isNumber = param.kind === "number" || param.kind === "integer";
        param.error = null;
        if (isNumber && !(number >= low && number <= high)) {
            param.error = `${value} is outside. ${param.hint}`;
            param.value = value;
            return;
        }
        this.#before ??= structuredClone(this.#steps);
        param.value = isNumber ? String(number) : value;
        param.said = param.value || "the whole record";
        if (!live) this.#remember();
    }

    view() {
        this.#steps.forEach((one, at) => {
            one.index = at;
            one.up = this.#steps[at - 1]?.stage === one.stage;
            one.down = this.#steps[at + 1]?.stage === one.stage;
            const set = one.slots.map(({ said }) => said).join(", ");
            one.remark = one.on && set !== "" ? `Did it with ${set}.` : "";
        });
        const spectrum = this.#steps.find(({ id }) => id === "spectrum");
        if (spectrum) {
            spectrum.fault = { code: "signal/short", message: "The record is shorter than a segment.",
                place: "3 May 14:20", remedy: "Choose a shorter segment." };
        }
        const results = [{ name: "declination_deg", label: "Declination D", text: "−4.31 ± 0.42°" }];
        const calibrate = this.#steps.find(({ id }) => id === "calibrate");
        if (calibrate) calibrate.results = results;
        return JSON.stringify({
            version: "0.0.0", rereads: [], inputs: this.#inputs, steps: this.#inputs.length ? this.#steps : [],
            addable: [{ id: "filter", title: "Filter", stage: "Spectrum" }],
            methods: "First paragraph.\n\nSecond paragraph.",
            undo: this.#undo.length ? "spike threshold 5 → 4" : null,
            redo: this.#redo.length ? "spike threshold 5 → 4" : null,
            changed_after: 3, summary: "The declination at Tern Skerry was −4.31 ± 0.42°.",
            procedure: { schema: 1, steps: this.#steps },
        });
    }

    plan_print(at, figure, width, height, zoom) {
        return this.plan(at, figure, (width * 96) / 25.4, (height * 96) / 25.4, zoom);
    }

    plan(at, figure, width, height, zoom) {
        const { x } = JSON.parse(zoom);
        const set = this.#steps[at].slots[0]?.value ?? "";
        const plan = { figure, width, height, x: x ?? [0, 86400], set };
        return new TextEncoder().encode(JSON.stringify(plan));
    }

    export(what) {
        return what === "procedure-json" ? JSON.stringify({ schema: 1, steps: this.#steps }) : "time,x\r\n";
    }
}

export default async function init() {
    return {};
}

const EDGE = 50;
const read = (bytes) => JSON.parse(new TextDecoder().decode(bytes));
const place = ({ x: [lo, hi], width }, px) => lo + ((px - EDGE) / (width - EDGE - 10)) * (hi - lo);

export function draw(canvas, bytes, palette, ratio) {
    const { width, height, x: [lo, hi] } = read(bytes);
    const colours = JSON.parse(palette);
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.fillStyle = colours.paper ?? "#ffffff";
    pen.fillRect(0, 0, width, height);
    pen.strokeStyle = colours.ink ?? "#000000";
    pen.strokeRect(EDGE, 10, width - EDGE - 10, height - 50);
    pen.beginPath();
    for (let px = EDGE; px < width - 10; px += 1) {
        const at = lo + ((px - EDGE) / (width - EDGE - 10)) * (hi - lo);
        pen.lineTo(px, height / 2 - 15 + (height / 4) * Math.sin(at / 8000));
    }
    pen.stroke();
}

export const draw_sheet = draw;
export const plan_frame = (bytes) => {
    const { width, height, figure } = read(bytes);
    const scale = figure === "spectrum" ? "log" : "time";
    return JSON.stringify({ left: EDGE, right: width - 10, top: 10, bottom: height - 40, scale,
        zooms: figure !== "projections" });
};
export const plan_words = (bytes) => JSON.stringify({
    name: read(bytes).figure, caption: "A sine that stands for a record.",
    summary: `One wave a day, set to ${read(bytes).set}. It has no gaps.`, provenance: "invented, 0.0.0",
});
export const plan_svg = () => '<svg xmlns="http://www.w3.org/2000/svg" width="170mm"><text>x</text></svg>';
export const plan_csv = () => "time,x\r\n";
export const csv_for_spreadsheet = (csv) => `\ufeff${csv}`;
export const plan_table = () =>
    JSON.stringify({ caption: "Two of two samples", columns: ["time", "X / nT"], rows: [["0", "1"], ["1", "2"]] });
const STOPS = 49;
export const stops = () => STOPS;
const at = (plan, stop) => plan.x[0] + (stop / (STOPS - 1)) * (plan.x[1] - plan.x[0]);
const near = (plan, x) => {
    const share = (x - plan.x[0]) / (plan.x[1] - plan.x[0]);
    return Math.min(Math.max(Math.round(share * (STOPS - 1)), 0), STOPS - 1);
};
const told = (plan, stop) => JSON.stringify({
    text: `${Math.round(at(plan, stop))} s UTC, X 17,482 nT`, panel: 0, stop, x_data: at(plan, stop),
    x_px: EDGE + (stop / (STOPS - 1)) * (plan.width - EDGE - 10), top_px: 10,
    bottom_px: plan.height - 40,
});
export const stop_near = (bytes, _panel, x) => near(read(bytes), x);
export const readout_at_stop = (bytes, _panel, stop) => told(read(bytes), stop);
export const readout = (bytes, x) => {
    const plan = read(bytes);
    return told(plan, near(plan, place(plan, x)));
};
export const data_span = (bytes, x0, x1) =>
    Float64Array.of(place(read(bytes), x0), place(read(bytes), x1));
export const local_words = (_seconds, ahead) => (ahead === 0 ? "" : ` (${ahead} min ahead)`);
export const span_words = (bytes, x0, x1) => {
    const iso = (px) => new Date(place(read(bytes), px) * 1000).toISOString();
    return JSON.stringify({ text: "0:10 to 0:20 UTC", value: `${iso(x0)}/${iso(x1)}` });
};
export const png_with_density = (bytes) => bytes;

/** Its few words are the same in every language. */
export function speak() {}
