// The page's side of the worker, tried with a worker that answers by hand.

import assert from "node:assert/strict";
import { test } from "node:test";
import { EngineLink } from "../../www/app/engine.js";
import { CANCELLED } from "../../www/app/sources.js";

const VIEW = { procedure: { schema: 1, steps: [] }, rereads: [] };

/** A link whose workers answer by hand; `workers` lists them as they come. */
function byHand() {
    const workers = [];
    const ended = [];
    const makeWorker = () => {
        const worker = {
            asked: [],
            terminated: false,
            postMessage: (ask) => worker.asked.push(ask),
            terminate: () => {
                worker.terminated = true;
            },
            say: (data) => worker.onmessage({ data }),
            answer: (value) => {
                const ask = worker.asked.at(-1);
                worker.say({ id: ask.id, ok: true, value });
            },
        };
        workers.push(worker);
        return worker;
    };
    const link = new EngineLink({}, makeWorker, (fault, isLost) => ended.push({ ...fault, isLost }));
    return { link, workers, ended };
}

const turn = () => new Promise((done) => setTimeout(done, 0));
const source = (name) => ({ kind: "file", file: { name }, choices: {} });
const ignore = {};

/** A link with one log open. */
async function opened() {
    const made = byHand();
    const [worker] = made.workers;
    worker.answer(null);
    const opening = made.link.open(source("a.csv"), false, ignore);
    await turn();
    worker.answer(VIEW);
    await opening;
    return { ...made, worker };
}

test("nothing is asked before the engine has started", async () => {
    const { link, workers } = byHand();
    const opening = link.open(source("a.csv"), false, ignore);
    await turn();
    assert.deepEqual(
        workers[0].asked.map(({ type }) => type),
        ["start"],
    );
    workers[0].answer(null);
    await turn();
    workers[0].answer(VIEW);
    assert.equal(await opening, VIEW);
});

test("progress and the view so far reach the one who asked", async () => {
    const { link, workers } = byHand();
    workers[0].answer(null);
    const seen = [];
    const onProgress = (fraction, doing) => seen.push([fraction, doing]);
    const onSoFar = (view) => seen.push(view);
    void link.open(source("a.csv"), false, { first: 2, onProgress, onSoFar });
    await turn();
    const { id, first } = workers[0].asked.at(-1);
    assert.equal(first, 2);
    workers[0].say({ id, progress: 0.5, doing: "Reading a.csv" });
    workers[0].say({ id, soFar: "halfway" });
    assert.deepEqual(seen, [[0.5, "Reading a.csv"], "halfway"]);
});

test("a fault arrives with its four fields and leaves the log closed", async () => {
    const { link, workers } = byHand();
    workers[0].answer(null);
    const opening = link.open(source("empty.csv"), false, ignore);
    await turn();
    const fault = { code: "intake/empty", message: "m", place: "p", remedy: "r" };
    workers[0].say({ id: workers[0].asked.at(-1).id, ok: false, ...fault });
    await assert.rejects(opening, fault);
    assert.equal(link.sources.length, 0);
});

test("an abandoned request ends its worker, and the next is rebuilt from files and procedure", async () => {
    const { link, workers, worker } = await opened();
    const edit = link.edit({ kind: "undo" });
    await turn();
    link.cancel();
    await assert.rejects(edit, { code: CANCELLED });
    assert.ok(worker.terminated);
    const second = workers[1];
    const types = () => second.asked.map(({ type }) => type);
    second.answer(null);
    await turn();
    assert.deepEqual(types(), ["start", "open"]);
    assert.equal(second.asked[1].more, true);
    second.answer(null);
    await turn();
    assert.deepEqual(second.asked[2].edit, { kind: "load", procedure: VIEW.procedure });
    second.answer(VIEW);
    const again = link.edit({ kind: "redo" });
    await turn();
    second.answer(VIEW);
    assert.equal(await again, VIEW);
});

test("a worker that died is told of and started again", async () => {
    const { link, workers, worker, ended } = await opened();
    const edit = link.edit({ kind: "undo" });
    await turn();
    worker.say({ ended: "index out of bounds" });
    await assert.rejects(edit, { code: "page/engine-ended" });
    assert.match(ended[0].message, /index out of bounds/);
    assert.equal(workers.length, 2);
});

test("a worker that dies while it is rebuilt is not rebuilt for ever", async () => {
    const { link, workers, worker, ended } = await opened();
    worker.say({ ended: "once" });
    workers[1].answer(null);
    await turn();
    workers[1].say({ ended: "twice" });
    assert.equal(workers.length, 3);
    assert.equal(link.sources.length, 0);
    assert.deepEqual(
        ended.map(({ isLost }) => isLost),
        [false, true],
    );
    workers[2].answer(null);
    await turn();
    assert.deepEqual(
        workers[2].asked.map(({ type }) => type),
        ["start"],
    );
});

test("an answer of an ended worker is not heard", async () => {
    const { link, workers, worker } = await opened();
    const edit = link.edit({ kind: "undo" });
    await turn();
    const { id } = worker.asked.at(-1);
    link.cancel();
    await assert.rejects(edit);
    worker.say({ id, ok: true, value: "stale" });
    assert.equal(workers[1].terminated, false);
    assert.equal(link.procedure, VIEW.procedure);
});

test("closing the last log ends its worker and gives its memory back", async () => {
    const { link, workers, worker } = await opened();
    const closing = link.close(0);
    assert.ok(worker.terminated);
    workers[1].answer(null);
    await turn();
    workers[1].answer({ procedure: null, inputs: [] });
    await closing;
    assert.equal(link.sources.length, 0);
});

test("a decision taken otherwise reads the same file again in its place", async () => {
    const { link, worker } = await opened();
    const reading = link.choose(0, "dates", "month-first", ignore);
    await turn();
    const ask = worker.asked.at(-1);
    assert.deepEqual([ask.type, ask.place, ask.choices], ["open", 0, { dates: "month-first" }]);
    worker.answer(VIEW);
    await reading;
});

test("a file that is gone when it is opened again loses the log but not the procedure", async () => {
    const { link, workers, ended } = await opened();
    link.cancel();
    workers[1].answer(null);
    await turn();
    const gone = { code: "page/unreadable", message: "m", place: "", remedy: "Copy it." };
    workers[1].say({ id: workers[1].asked.at(-1).id, ok: false, ...gone });
    await turn();
    assert.equal(ended[0].isLost, true);
    assert.match(ended[0].remedy, /procedure was kept/);
    workers[2].answer(null);
    const opening = link.open(source("a.csv"), false, ignore);
    await turn();
    workers[2].answer({ procedure: "proposed" });
    await turn();
    assert.deepEqual(workers[2].asked.at(-1).edit, { kind: "load", procedure: VIEW.procedure });
    workers[2].answer(VIEW);
    assert.equal(await opening, VIEW);
});
