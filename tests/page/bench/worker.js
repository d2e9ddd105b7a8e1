/* Times the tasks in a worker: inputs into the module's memory first, one run
   to warm up, then so many timed ones. */

import init, { Bench } from "./pkg/bench.js";

/** @param {string} line */
const say = (line) => self.postMessage(line);

/**
 * @param {string} name
 * @param {Bench} bench
 */
async function hand(name, bench) {
    const answer = await fetch(`./${name}`);
    if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
    bench.give(name, new Uint8Array(await answer.arrayBuffer()));
}

/** @param {number[]} times */
function median(times) {
    const sorted = [...times].sort((a, b) => a - b);
    return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}

/**
 * @param {Bench} bench
 * @param {string} task
 * @param {number} runs
 */
function timed(bench, task, runs) {
    const times = [];
    for (let run = 0; run <= runs; run += 1) {
        const begin = performance.now();
        const why = bench.run(task);
        const took = (performance.now() - begin) / 1000;
        if (why !== undefined) return { task, peer: "wasm, Chromium", error: why };
        // The first run warms up.
        if (run > 0 || runs === 0) times.push(took);
    }
    const figures = JSON.parse(bench.check(task));
    return { task, peer: "wasm, Chromium", median_s: median(times), runs: times.length, figures };
}

self.onmessage = async ({ data }) => {
    try {
        await init({ module_or_path: new URL("./pkg/bench_bg.wasm", import.meta.url) });
        const wanted = new RegExp(data.tasks);
        const tasks = JSON.parse(Bench.tasks());
        let bench = new Bench();
        for (const task of tasks.filter((one) => wanted.test(one.name))) {
            bench.drop_but(task.name);
            for (const file of task.files) if (!bench.holds(file)) await hand(file, bench);
            bench.ready(task.name);
            say(JSON.stringify(timed(bench, task.name, data.runs)));
        }
        say("done");
    } catch (error) {
        say(`failed: ${error}`);
    }
};
