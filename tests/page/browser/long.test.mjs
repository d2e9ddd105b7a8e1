// Ten million samples on the page: filter, Welch, spectrogram and Allan deviation in the worker, the
// fraction rising within a step, Cancel, and what memory it all takes.  LODELOG_SAMPLES sets another
// number of samples.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { launch, visit } from "../lib/browser.mjs";
import { drop } from "../lib/files.mjs";
import { www } from "../lib/places.mjs";
import { remark, settled } from "../lib/read.mjs";
import { BUSY } from "../lib/real.mjs";
import { serve } from "../lib/server.mjs";

const SAMPLES = Number(process.env.LODELOG_SAMPLES ?? 10_000_000);

/** The most memory of the worker's module, bytes. */
const BAR = 1.5e9;

/** Longer than this, and something hangs. */
const PATIENCE = 600_000;

/** Steps that read and order are followed by. */
const WORK = ["filter", "spectrum", "spectrogram", "allan"];

const PROCEDURE = {
    schema: 1,
    steps: [
        { step: "read", on: true, set: {} },
        { step: "station", on: false, set: {} },
        { step: "order", on: true, set: {} },
        { step: "filter", on: true, set: { period_min: 10 } },
        { step: "spectrum", on: true, set: { segment_h: 24 } },
        { step: "spectrogram", on: true, set: { segment_h: 6 } },
        { step: "allan", on: true, set: {} },
    ],
};

let browser;
let server;

before(async () => {
    // The worker as it is, but for one word: where its module's memory is.
    const body = `${await readFile(join(www, "worker/engine.js"), "utf8")}
        const plain = WebAssembly.instantiate;
        WebAssembly.instantiate = async (...given) => {
            const made = await plain(...given);
            globalThis.moduleMemory = (made.instance ?? made).exports.memory;
            return made;
        };`;
    server = await serve(www, { instead: { "worker/engine.js": { type: "text/javascript", body } } });
    browser = await launch();
});
after(async () => {
    await browser.close();
    await server.close();
});

/** Drops a log of so many samples, made in the page: red noise and a daily wave, every second. */
function dropLog(page, samples) {
    return page.evaluate((n) => {
        const parts = ["time,bx_nT\n"];
        let [seed, red] = [1, 0];
        for (let k = 0; k < n; ) {
            const rows = [];
            for (const end = Math.min(n, k + 100_000); k < end; k += 1) {
                seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
                red = 0.999 * red + seed / 2 ** 32 - 0.5;
                const value = 48_500 + 20 * Math.sin(k * 7.2722e-5) + red;
                rows.push(`${1_767_225_600 + k},${value.toFixed(2)}\n`);
            }
            parts.push(new Blob(rows));
        }
        const transfer = new DataTransfer();
        transfer.items.add(new File(parts, "long.csv"));
        const event = new DragEvent("drop", { dataTransfer: transfer, bubbles: true });
        document.querySelector("main").dispatchEvent(event);
    }, samples);
}

/** Notes every value of the bar that differs from the one before. */
function watchBar(page) {
    return page.evaluate(() => {
        const bar = document.getElementById("busy-bar");
        globalThis.fractions = [];
        globalThis.watching = setInterval(() => {
            const { value } = bar;
            if (globalThis.fractions.at(-1) !== value) globalThis.fractions.push(value);
        }, 20);
    });
}

/** The memory of the worker's module, bytes; it never shrinks. */
async function moduleBytes(page) {
    const sizes = page.workers().map((one) => one.evaluate(() => globalThis.moduleMemory?.buffer.byteLength ?? 0));
    return Math.max(0, ...(await Promise.all(sizes)));
}

/** The greatest memory that a process of the browser has had, bytes; 0 where that cannot be known. */
async function greatestProcess() {
    const session = await browser.newBrowserCDPSession();
    const { processInfo } = await session.send("SystemInfo.getProcessInfo");
    const peaks = processInfo.map(async ({ id }) => {
        const text = await readFile(`/proc/${id}/status`, "utf8").catch(() => "");
        return 1024 * Number(text.match(/VmHWM:\s+(\d+)/)?.[1] ?? 0);
    });
    return Math.max(...(await Promise.all(peaks)));
}

/** Waits until a step has said what it did to this log. */
function stepDone(page, id) {
    return page.waitForSelector(`#step-${id}[data-status=ok] #step-${id}-remark:not(:empty)`, { timeout: PATIENCE });
}

test("ten million samples are filtered and estimated with a rising fraction, within the memory, and Cancel acts at once", { timeout: PATIENCE }, async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    page.setDefaultTimeout(PATIENCE);
    await drop(page, "main", [{ name: "work.json", bytes: JSON.stringify(PROCEDURE) }]);
    await watchBar(page);
    const began = Date.now();
    await dropLog(page, SAMPLES);
    const opened = Date.now();
    await stepDone(page, "allan");
    await settled(page);
    const took = (Date.now() - opened) / 1000;
    const first = await page.evaluate(() => globalThis.fractions);
    console.log(`${SAMPLES} samples: made in ${((opened - began) / 1000).toFixed(1)} s, read and worked through in ${took.toFixed(1)} s`);
    for (const id of WORK) assert.match(await remark(page, id), /\d/, id);
    const bytes = await moduleBytes(page);
    console.log(`module's memory ${(bytes / 1e6).toFixed(0)} MB, greatest process ${((await greatestProcess()) / 1e6).toFixed(0)} MB`);
    assert.ok(first.length >= 10, `${first}`);

    // Another cut-off: the filter and all after it run again.
    await page.evaluate(() => {
        document.getElementById("busy-bar").value = 0;
        globalThis.fractions.length = 0;
    });
    const slot = page.locator("#step-filter-period_min");
    await slot.fill("20");
    await slot.press("Enter");
    await page.waitForFunction(() => !document.getElementById("busy").hidden);
    await page.waitForFunction(() => document.getElementById("busy").hidden);
    await settled(page);
    const again = await page.evaluate(() => globalThis.fractions);
    const shown = again.filter((one) => one > 0 && one < 1);
    console.log(`the bar, on an edit: ${shown.map((one) => one.toFixed(3))}`);
    const steps = PROCEDURE.steps.length;
    const within = shown.filter((one) => Math.abs(one * steps - Math.round(one * steps)) > 0.02);
    assert.deepEqual(shown, [...shown].sort((a, b) => a - b), "the fraction rises");
    assert.ok(within.length >= 5, `only ${within} lie within a step`);
    assert.ok(bytes > 0 && bytes <= BAR, `${bytes} bytes`);
    assert.ok((await moduleBytes(page)) <= BAR);

    // Given up in the middle: at once, and what was there stays.
    const good = await remark(page, "filter");
    await slot.fill("40");
    await slot.press("Enter");
    await page.waitForFunction(() => !document.getElementById("busy").hidden);
    const cancelled = await page.evaluate(async () => {
        const pressed = performance.now();
        document.getElementById("cancel").click();
        while (!document.getElementById("busy").hidden && performance.now() - pressed < 10_000) {
            await new Promise((done) => setTimeout(done, 2));
        }
        return performance.now() - pressed;
    });
    console.log(`Cancel took ${cancelled.toFixed(0)} ms`);
    assert.ok(cancelled <= 200 * BUSY, `${cancelled} ms`);
    assert.equal(await remark(page, "filter"), good);
    await seen.close();
});
