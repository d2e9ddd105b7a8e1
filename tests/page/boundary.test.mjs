// The engine across its boundary, without a browser: bytes and edits in, views, plans, files out.
// Uses the engine as it was last built into www/pkg.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { before, test } from "node:test";
import * as glue from "../../www/pkg/page.js";

const ALL = '{"x":null,"y":null}';

before(async () => {
    const bytes = await readFile(new URL("../../www/pkg/page_bg.wasm", import.meta.url));
    glue.initSync({ module: bytes });
});

/** A field that swings once a day about 20,000, −5,000 and 45,000 nT, a row a minute. */
function logOf(days) {
    const lines = ["time,x_nT,y_nT,z_nT"];
    for (let row = 0; row < days * 1440; row += 1) {
        const time = new Date(Date.UTC(2026, 4, 1) + row * 60_000).toISOString();
        const day = 30 * Math.sin((row / 1440) * 2 * Math.PI);
        const values = [20_000 + day, -5_000 + day / 2, 45_000 - day / 3];
        lines.push(`${time},${values.map((one) => one.toFixed(1)).join(",")}`);
    }
    return new TextEncoder().encode(lines.join("\n"));
}

/** An engine with that log open, read in chunks of uneven length. */
function opened(days = 3) {
    const engine = new glue.Engine();
    const bytes = logOf(days);
    engine.begin("garden.csv", "{}");
    for (let from = 0, size = 1; from < bytes.length; from += size, size = (size * 7) % 4093) {
        engine.push(bytes.subarray(from, from + size));
    }
    engine.finish();
    return engine;
}

const viewOf = (engine) => JSON.parse(engine.view());
const edit = (engine, change) => engine.edit(JSON.stringify(change));
const place = (view, id) => view.steps.findIndex((step) => step.id === id);

/** The fault that an action throws. */
function faultOf(action) {
    try {
        action();
    } catch (thrown) {
        return JSON.parse(thrown);
    }
    return assert.fail("nothing was thrown");
}

test("a log read in uneven chunks is the log read whole", () => {
    const whole = new glue.Engine();
    whole.begin("garden.csv", "{}");
    whole.push(logOf(3));
    whole.finish();
    assert.deepEqual(viewOf(opened()), viewOf(whole));
    const [input] = viewOf(whole).inputs;
    assert.equal(input.name, "garden.csv");
    assert.equal(input.date, "2026-05-01");
    assert.match(input.facts, /4,320 samples/);
});

test("a fault comes across as its four fields, and the engine goes on", () => {
    const engine = opened();
    engine.begin("empty.csv", "{}");
    const fault = faultOf(() => engine.finish());
    assert.match(fault.code, /^intake\//);
    assert.notEqual(fault.message, "");
    assert.notEqual(fault.remedy, "");
    assert.equal(viewOf(engine).inputs.length, 1);
    assert.equal(faultOf(() => edit(engine, { kind: "dance" })).code, "page/misasked");
    assert.equal(faultOf(() => engine.push(Uint8Array.of(1))).code, "page/misasked");
    assert.equal(faultOf(() => engine.add_demo("ninety-days", "{}")).code, "page/misasked");
    assert.equal(faultOf(() => engine.export("everything")).code, "page/misasked");
});

test("an edit runs step by step, and the view so far waits for the rest", () => {
    const engine = opened();
    const view = viewOf(engine);
    const spikes = place(view, "spikes");
    edit(engine, { kind: "set", step: spikes, param: "threshold", value: "7,5" });
    assert.equal(engine.reached(spikes), false);
    const shares = [];
    assert.equal(engine.advance((share) => shares.push(share)), false);
    assert.ok(shares.every((share) => share >= 0 && share <= 1));
    assert.ok(engine.reached(spikes));
    const soFar = JSON.parse(engine.view_so_far());
    assert.equal(soFar.steps[spikes].status, "ok");
    assert.equal(soFar.steps.at(-1).status, "waiting");
    assert.ok(engine.fraction() > 0 && engine.fraction() < 1);
    const after = viewOf(engine);
    assert.equal(engine.fraction(), 1);
    assert.equal(after.steps[spikes].slots[0].value, "7.5");
    assert.match(after.undo, /7\.5$/);
});

test("a plan comes as bytes that are read, drawn into words and saved alike", () => {
    const engine = opened();
    const view = viewOf(engine);
    const step = place(view, "spikes");
    const [figure] = view.steps[step].figures;
    const plan = engine.plan(step, figure.name, 700, 420, ALL);
    const frame = JSON.parse(glue.plan_frame(plan));
    assert.ok(frame.left > 0 && frame.right <= 700 && frame.bottom < 420);
    assert.deepEqual([frame.scale, frame.zooms], ["time", true]);
    const words = JSON.parse(glue.plan_words(plan));
    assert.match(words.provenance, /garden\.csv/);
    assert.notEqual(words.summary, "");
    const table = JSON.parse(glue.plan_table(plan, 10));
    assert.ok(table.rows.length <= 10 && table.rows.length > 5);
    const print = engine.plan_print(step, figure.name, 170, 100, ALL);
    const svg = glue.plan_svg(print, 170, 100);
    assert.match(svg, /width="170mm"/);
    assert.match(svg, /<text/);
    assert.doesNotMatch(svg, /<script|href="http/);
    assert.match(glue.plan_csv(print), /^# /);
});

test("zooming by pixels is consistent: the window of the frame is the whole", () => {
    const engine = opened();
    const view = viewOf(engine);
    const step = place(view, "spikes");
    const plan = engine.plan(step, view.steps[step].figures[0].name, 700, 420, ALL);
    const { left, right } = JSON.parse(glue.plan_frame(plan));
    const [from, to] = glue.data_span(plan, left, right);
    const [low, high] = glue.data_span(plan, left - (right - left), right + (right - left));
    assert.ok(Math.abs(high - low - 3 * (to - from)) < 1);
    const near = JSON.stringify({ x: [...glue.data_span(plan, left + 100, left + 200)], y: null });
    const zoomed = engine.plan(step, view.steps[step].figures[0].name, 700, 420, near);
    const shown = JSON.parse(glue.plan_frame(zoomed));
    const [a, b] = glue.data_span(zoomed, shown.left, shown.right);
    assert.ok(Math.abs(b - a - (100 / (right - left)) * (to - from)) < 1);
});

test("pointer and keyboard read the same words at the same stop", () => {
    const engine = opened();
    const view = viewOf(engine);
    const step = place(view, "spikes");
    const plan = engine.plan(step, view.steps[step].figures[0].name, 700, 420, ALL);
    const { left, right, top } = JSON.parse(glue.plan_frame(plan));
    const pointed = JSON.parse(glue.readout(plan, (left + right) / 2, top + 20));
    const stepped = JSON.parse(glue.readout_at_stop(plan, pointed.panel, pointed.stop));
    assert.deepEqual(stepped, pointed);
    assert.match(pointed.text, /UTC/);
    assert.equal(glue.stop_near(plan, pointed.panel, pointed.x_data), pointed.stop);
    assert.ok(pointed.stop < glue.stops(plan, pointed.panel));
});

test("a span marked on a figure is understood by a slot", () => {
    const engine = opened();
    const view = viewOf(engine);
    const step = place(view, "elements");
    const spikes = place(view, "spikes");
    const plan = engine.plan(spikes, view.steps[spikes].figures[0].name, 700, 420, ALL);
    const { left } = JSON.parse(glue.plan_frame(plan));
    const span = JSON.parse(glue.span_words(plan, left + 100, left + 200));
    assert.match(span.value, /^2026-05-01T.*Z\/2026-05-0\dT.*Z$/);
    assert.equal(glue.span_words(plan, left + 100, left + 100), undefined);
    edit(engine, { kind: "set", step, param: "span", value: span.value });
    const slot = viewOf(engine).steps[step].slots.find(({ key }) => key === "span");
    assert.equal(slot.error, null);
    assert.equal(slot.value, span.value);
});

test("the time here is worded by the engine", () => {
    const seconds = Date.UTC(2026, 4, 3, 14, 20) / 1000;
    assert.equal(glue.local_words(seconds, 60), " (15:20 here)");
    assert.equal(glue.local_words(seconds, 0), "");
});

test("bytes that are no plan are refused in words", () => {
    assert.equal(faultOf(() => glue.plan_words(Uint8Array.of(1, 2, 3))).code, "figure/plan");
    assert.equal(faultOf(() => glue.png_with_density(Uint8Array.of(1), 300)).code.split("/")[0], "figure");
});

test("a procedure saved and loaded gives the same view", () => {
    const engine = opened();
    const spikes = place(viewOf(engine), "spikes");
    edit(engine, { kind: "set", step: spikes, param: "threshold", value: "9" });
    const wanted = viewOf(engine);
    const saved = engine.export("procedure-json");
    const other = opened();
    edit(other, { kind: "load", procedure: JSON.parse(saved) });
    const got = viewOf(other);
    assert.deepEqual(got.steps, wanted.steps);
    assert.equal(got.methods, wanted.methods);
    assert.match(engine.export("processed-csv"), /^# .*\r\n/);
});

test("120 commits, 100 undos and 100 redos come back to where they were", () => {
    const engine = opened(1);
    const spikes = place(viewOf(engine), "spikes");
    const set = (value) =>
        edit(engine, { kind: "set", step: spikes, param: "threshold", value: String(value) });
    for (let commits = 0; commits < 120; commits += 1) set(5 + (commits % 40) / 2 + 0.5);
    const last = JSON.stringify(viewOf(engine).procedure);
    for (let undos = 0; undos < 100; undos += 1) edit(engine, { kind: "undo" });
    const early = JSON.stringify(viewOf(engine).procedure);
    assert.notEqual(early, last);
    for (let redos = 0; redos < 100; redos += 1) edit(engine, { kind: "redo" });
    assert.equal(JSON.stringify(viewOf(engine).procedure), last);
    for (let undos = 0; undos < 100; undos += 1) edit(engine, { kind: "undo" });
    assert.equal(JSON.stringify(viewOf(engine).procedure), early);
});
