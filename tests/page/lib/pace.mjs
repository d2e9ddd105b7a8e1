// A slower machine: the page's whole process, its worker included, runs a part of the time.
// (The browser's own slow-down holds back the page's thread alone, and the engine is not on it.)

import { Worker } from "node:worker_threads";

/** How long the process runs in one go, milliseconds. */
const GO_MS = 8;

/** Sleeps in a thread of its own, so that nothing else delays the next signal. */
const PACER = `
    const { workerData } = require("node:worker_threads");
    const { pids, goMs, stopMs, flag } = workerData;
    const state = new Int32Array(flag);
    const signal = (name) => pids.forEach((pid) => { try { process.kill(pid, name); } catch {} });
    while (Atomics.load(state, 0) === 0) {
        signal("SIGSTOP");
        Atomics.wait(state, 0, 0, stopMs);
        signal("SIGCONT");
        Atomics.wait(state, 0, 0, goMs);
    }
    signal("SIGCONT");
    Atomics.store(state, 0, 2);
    Atomics.notify(state, 0);
`;

/**
 * Lets the processes that show pages run one part in `times`.
 *
 * @param {import("playwright-core").Browser} browser
 * @param {number} times 4 for four times slower; 1 changes nothing
 * @returns {Promise<() => Promise<void>>} gives them their full pace back
 */
export async function pace(browser, times) {
    if (times <= 1) {
        return async () => undefined;
    }
    const session = await browser.newBrowserCDPSession();
    const { processInfo } = await session.send("SystemInfo.getProcessInfo");
    await session.detach();
    const pids = processInfo.filter(({ type }) => type === "renderer").map(({ id }) => id);
    const flag = new SharedArrayBuffer(4);
    const workerData = { pids, goMs: GO_MS, stopMs: GO_MS * (times - 1), flag };
    const worker = new Worker(PACER, { eval: true, workerData });
    return async () => {
        const state = new Int32Array(flag);
        Atomics.store(state, 0, 1);
        Atomics.notify(state, 0);
        await new Promise((done) => worker.once("exit", done));
    };
}
