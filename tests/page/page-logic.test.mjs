// The page's own logic that needs no browser: what is shown, what is zoomed, what is sent.

import assert from "node:assert/strict";
import { test } from "node:test";
import { EditQueue } from "../../www/app/edits.js";
import { fileName } from "../../www/app/names.js";
import { createStore, emptyState, next, stepKeys } from "../../www/app/store.js";
import { offsetsOf } from "../../www/app/zone.js";
import { keepInside, Zooms } from "../../www/app/zoom.js";

const step = (id, figures = []) => ({ id, figures: figures.map((name) => ({ name })) });
const view = (...steps) => ({ steps });

test("a step keeps its key while others of its kind come after it", () => {
    assert.deepEqual(stepKeys(view(step("filter"), step("spikes"), step("filter"))), [
        "filter",
        "spikes",
        "filter-2",
    ]);
});

test("the first view takes the first step with a figure in hand", () => {
    const shown = next(emptyState, {
        type: "view-arrived",
        view: view(step("read"), step("spikes", ["series", "histogram"])),
    });
    assert.equal(shown.inHand, "spikes");
    assert.equal(shown.figure, "series");
});

test("the step in hand and its figure stay through a new view, and fall back when they are gone", () => {
    const store = createStore();
    store.dispatch({ type: "view-arrived", view: view(step("a", ["s"]), step("b", ["s", "h"])) });
    store.dispatch({ type: "step-taken", step: "b", figure: "h" });
    store.dispatch({ type: "view-arrived", view: view(step("a", ["s"]), step("b", ["s", "h"])) });
    assert.deepEqual([store.get().inHand, store.get().figure], ["b", "h"]);
    store.dispatch({ type: "view-arrived", view: view(step("a", ["s"]), step("b", ["s"])) });
    assert.deepEqual([store.get().inHand, store.get().figure], ["b", "s"]);
    store.dispatch({ type: "view-arrived", view: view(step("a", ["s"])) });
    assert.deepEqual([store.get().inHand, store.get().figure], ["a", "s"]);
});

test("taking the step that is in hand already tells nobody", () => {
    const store = createStore();
    store.dispatch({ type: "view-arrived", view: view(step("a", ["s"])) });
    let told = 0;
    store.subscribe(() => {
        told += 1;
    });
    store.dispatch({ type: "step-taken", step: "a" });
    assert.equal(told, 0);
});

test("a zoom stays within the whole, on even and on logarithmic axes", () => {
    assert.deepEqual(keepInside([2, 4], [0, 10], "linear"), [2, 4]);
    assert.deepEqual(keepInside([-1, 1], [0, 10], "time"), [0, 2]);
    assert.deepEqual(keepInside([9, 12], [0, 10], "time"), [7, 10]);
    assert.equal(keepInside([-1, 11], [0, 10], "linear"), null);
    assert.deepEqual(keepInside([0.01, 1], [0.1, 1000], "log"), [0.1, 10]);
    assert.deepEqual(keepInside([100, 10000], [0.1, 1000], "log"), [10, 1000]);
    assert.equal(keepInside([NaN, 3], [0, 10], "linear"), null);
});

test("figures over time share their zoom, others have their own", () => {
    const zooms = new Zooms();
    zooms.learn("spikes/series", "time");
    zooms.learn("average/series", "time");
    zooms.learn("spectrum/spectrum", "log");
    zooms.set("spikes/series", [3, 4]);
    assert.deepEqual(zooms.of("average/series").x, [3, 4]);
    assert.equal(zooms.of("spectrum/spectrum").x, null);
});

test("the way back through zooms ends where it began", () => {
    const zooms = new Zooms();
    zooms.set("a", [0, 5]);
    zooms.set("a", [1, 2]);
    assert.ok(zooms.back("a"));
    assert.deepEqual(zooms.of("a").x, [0, 5]);
    assert.ok(zooms.back("a"));
    assert.ok(zooms.isWhole("a"));
    assert.equal(zooms.back("a"), false);
});

test("a saved file has a plain, short name with log, figure and date", () => {
    const name = fileName("Großer Garten (3).csv", "series", "2026-05-01", "svg");
    assert.equal(name, "gro-er-garten-3-series-2026-05-01.svg");
    const long = fileName(`${"x".repeat(90)}.csv`, "spectrum", "2026-05-01", "png");
    assert.equal(long.length, 60);
    assert.match(fileName("…", "series", "", "csv"), /^log-series\.csv$/);
});

/** A queue whose answers are given by hand. */
function queueByHand(keys = ["a", "b"]) {
    const sent = [];
    const refused = [];
    const queue = new EditQueue({
        send: (edit) => new Promise((resolve, reject) => sent.push({ edit, resolve, reject })),
        keys: () => keys,
        onFault: (fault) => refused.push(fault),
    });
    const type = (key, value) =>
        queue.push({ key, typing: "threshold", edit: (at) => ({ kind: "set", step: at, value }) });
    const nudge = (key, by) =>
        queue.push({ key, typing: "threshold", by, edit: (at, all) => ({ step: at, by: all }) });
    return { queue, sent, refused, type, nudge, keys };
}

const turn = () => new Promise((done) => setTimeout(done, 0));

test("of what is typed while an answer is awaited only the newest is sent", async () => {
    const { sent, type } = queueByHand();
    type("a", "1");
    const skipped = type("a", "12");
    const last = type("a", "123");
    await skipped;
    sent[0].resolve();
    await turn();
    sent[1].resolve();
    await last;
    assert.deepEqual(
        sent.map(({ edit }) => edit.value),
        ["1", "123"],
    );
});

test("arrow keys that wait together are sent as one step, and all of them settle", async () => {
    const { sent, nudge } = queueByHand();
    const all = [nudge("a", 1), nudge("a", 1), nudge("a", 10), nudge("a", -1)];
    sent[0].resolve();
    await turn();
    sent[1].resolve();
    await Promise.all(all);
    assert.deepEqual(
        sent.map(({ edit }) => edit.by),
        [1, 10],
    );
});

test("an arrow key after typing steps from what was typed", async () => {
    const { sent, type, nudge } = queueByHand();
    type("a", "1");
    type("a", "12");
    nudge("a", 1);
    sent[0].resolve();
    await turn();
    sent[1].resolve();
    await turn();
    assert.deepEqual(
        sent.map(({ edit }) => edit.value ?? edit.by),
        ["1", "12", 1],
    );
});

test("an edit finds its step again after others have moved", async () => {
    const { queue, sent, keys } = queueByHand();
    queue.push({ key: null, edit: () => ({ kind: "undo" }) });
    const done = queue.push({ key: "b", edit: (at) => ({ kind: "switch", step: at }) });
    keys.splice(0, 2, "b", "a");
    sent[0].resolve();
    await turn();
    assert.equal(sent[1].edit.step, 0);
    sent[1].resolve();
    await done;
});

test("an edit whose step is gone is left out, and the next one is sent", async () => {
    const { queue, sent } = queueByHand();
    await queue.push({ key: "gone", edit: (at) => ({ kind: "remove", step: at }) });
    queue.push({ key: "a", edit: (at) => ({ kind: "remove", step: at }) });
    await turn();
    assert.deepEqual(
        sent.map(({ edit }) => edit.step),
        [0],
    );
});

test("a refused edit is told and does not stop the next", async () => {
    const { queue, sent, refused } = queueByHand();
    const first = queue.push({ key: "a", edit: () => ({ kind: "undo" }) });
    const second = queue.push({ key: "a", edit: () => ({ kind: "redo" }) });
    sent[0].reject({ code: "x/y" });
    await first;
    sent[1].resolve();
    await second;
    assert.deepEqual(refused, [{ code: "x/y" }]);
});

test("a view that goes only so far keeps what its waiting steps gave before", () => {
    const made = (id, status, remark) => ({
        ...step(id, ["s"]),
        status,
        remark,
        fault: null,
        warnings: [],
        results: [],
    });
    const whole = { summary: "old", methods: "m", steps: [made("a", "ok", "1"), made("b", "ok", "2")] };
    const waiting = { ...made("b", "waiting", ""), figures: [] };
    const soFar = { summary: "new", methods: "", steps: [made("a", "ok", "3"), waiting] };
    const before = next(emptyState, { type: "view-arrived", view: whole });
    const after = next(before, { type: "view-so-far", view: soFar });
    assert.deepEqual(
        after.view.steps.map(({ status, remark, figures }) => [status, remark, figures.length]),
        [
            ["ok", "3", 1],
            ["waiting", "2", 1],
        ],
    );
    assert.equal(after.view.summary, "old");
    assert.equal(after.whole, whole);
});

// checks-stats-time, dst-gap: UK clocks 2024-03-31, 01:00-02:00 skipped (IANA time zone data).
test("the clocks of London leap from one to two on the last morning of March 2024", () => {
    const said = offsetsOf("Europe/London", ["2024-03-30T12:00:00Z", "2024-04-01T12:00:00Z"]);
    assert.equal(said, "Europe/London +00:00 2024-03-31T01:00:00Z +01:00");
});
