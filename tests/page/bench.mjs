// How long a visitor waits, in Chromium on this machine: from the landing to the demo's result, and
// from a number typed to the figure drawn.  `cargo xtask bench --page` runs it on what is published.

import { mkdtemp, open, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launch, pageMemory, visit } from "./lib/browser.mjs";
import { pace } from "./lib/pace.mjs";
import { dist } from "./lib/places.mjs";
import { settled } from "./lib/read.mjs";
import { serve } from "./lib/server.mjs";

/** Visits that are timed, each new to the page; odd, so that the median is one of them. */
const VISITS = 5;

/** Values typed, one after another, for each slot that is timed. */
const EDITS = [
    { step: "spikes", slot: "threshold", values: ["6", "7", "8", "9", "10"] },
    { step: "calibrate", slot: "reject", values: ["2.5", "3", "3.5", "4", "4.5"] },
    { step: "orient", slot: "azimuth", values: ["20", "21", "22", "23", "24"] },
    { step: "spectrum", slot: "segment_h", values: ["48", "60", "72", "84", "96"] },
];

const server = await serve(dist);
const browser = await launch();

for (const times of [1, 4]) {
    const { first, all } = await landings(times);
    report(`landing → demo: first figure and remark, ${times}×`, first, times === 1 ? 2000 : 6000);
    report(`landing → demo: every step, ${times}×`, all);
}
for (const times of [1, 4]) {
    const found = await edits(times);
    report(`number typed → figure drawn, 60 days, ${times}×`, found.flatMap(({ took }) => took),
        times === 1 ? 100 : 400);
    for (const { step, took } of found) report(`    ${step}`, took);
}
const { frames, took } = await panned();
process.stdout.write(`${frames.toFixed(0).padStart(9)} frames/s  pan of 10 M samples over ${took.toFixed(1)} s, bar 30: ${frames >= 30 ? "met" : "NOT met"}\n`);
const large = await gigabyte();
process.stdout.write(`${large.read.toFixed(0).padStart(9)} MB  a page's process at most, while a log of 1 GB is read (${large.readS.toFixed(0)} s), bar 2000: ${large.read <= 2000 ? "met" : "NOT met"}\n`);
process.stdout.write(`${large.all.toFixed(0).padStart(9)} MB  and when every step has run on its 20 M samples (${large.allS.toFixed(0)} s)\n`);
await browser.close();
await server.close();

/** Prints the median, the range, and the bar where there is one. */
function report(what, times, bar) {
    const sorted = [...times].sort((a, b) => a - b);
    const shown = (value) => (value ?? Number.NaN).toFixed(0);
    const middle = sorted[(sorted.length - 1) >> 1];
    const range = `(${shown(sorted[0])} to ${shown(sorted.at(-1))})`;
    const against = bar === undefined ? "" : `, bar ${bar}: ${middle <= bar ? "met" : "NOT met"}`;
    process.stdout.write(`${shown(middle).padStart(9)} ms ${range}  ${what}${against}\n`);
}

/** Visits with nothing kept from before: when the first figure came, and when all was done. */
async function landings(times) {
    const [first, all] = [[], []];
    for (let k = 0; k < VISITS; k += 1) {
        // The process that will show the page exists before it is slowed.
        const seen = await visit(browser, `${server.url}sw.js`, { prepare: watchLanding });
        const restore = await pace(browser, times);
        await seen.page.goto(`${server.url}#demo`);
        const found = await seen.page.evaluate(() => globalThis.landed);
        await restore();
        first.push(found.first);
        all.push(found.all);
        await seen.close();
    }
    return { first, all };
}

/** Notes, from the page's own beginning, when its results are on screen. */
function watchLanding(context) {
    return context.addInitScript(() => {
        globalThis.landed = new Promise((done) => {
            const found = {};
            const look = () => {
                const text = (selector) => document.querySelector(selector)?.textContent;
                if (!found.first && text("figcaption .plate__words") && text(".step__remark")) {
                    found.first = performance.now();
                }
                if (found.first && text("#step-spectrum .results dd")
                    && document.getElementById("busy")?.hidden) {
                    done({ ...found, all: performance.now() });
                } else {
                    requestAnimationFrame(look);
                }
            };
            requestAnimationFrame(look);
        });
    });
}

/** Each slot's values, typed and committed; the time until the plate in sight was drawn anew. */
async function edits(times) {
    const seen = await visit(browser, `${server.url}#demo`, { prepare: watchDrawing });
    await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(seen.page);
    const found = [];
    for (const { step, slot, values } of EDITS) {
        await seen.page.locator(`#step-${step} .step__plates [data-figure]`).first().click();
        await settled(seen.page);
        const took = [];
        for (const value of values) {
            const restore = await pace(browser, times);
            took.push(await seen.page.evaluate(typed, { id: `step-${step}-${slot}`, value }));
            await restore();
            await settled(seen.page);
        }
        found.push({ step, took });
    }
    await seen.close();
    return found;
}

/** Notes when the plate's canvas is drawn on; its first act there is to set the scale. */
function watchDrawing(context) {
    return context.addInitScript(() => {
        globalThis.drawn = [];
        const { prototype } = globalThis.CanvasRenderingContext2D;
        const { setTransform } = prototype;
        prototype.setTransform = function noted(...given) {
            globalThis.drawn.push(performance.now());
            return setTransform.apply(this, given);
        };
    });
}

/** Runs in the page: types, commits with Enter, waits for the drawing. */
async function typed({ id, value }) {
    const input = document.getElementById(id);
    input.focus();
    input.value = value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    globalThis.drawn.length = 0;
    const began = performance.now();
    input.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
    while (globalThis.drawn.length === 0 && performance.now() - began < 20_000) {
        await new Promise((done) => setTimeout(done, 1));
    }
    return globalThis.drawn[0] - began;
}

/** Ten million samples, shifted along by a pointer that moves in every frame; drawings a second. */
async function panned() {
    const seen = await visit(browser, server.url, { prepare: watchDrawing });
    const { page } = seen;
    const transfer = await page.evaluateHandle(async () => {
        const parts = ["time_s,bx_nt,by_nt,bz_nt\n"];
        for (let from = 0; from < 10_000_000; from += 100_000) {
            const rows = Array.from({ length: 100_000 }, (_, at) => {
                const k = from + at;
                return `${1_777_818_000 + k},${17_000 + (k % 89)},${(k >> 9) % 97},${45_000 + (k % 83)}`;
            });
            parts.push(`${rows.join("\n")}\n`);
        }
        const data = new DataTransfer();
        data.items.add(new File(parts, "long.csv"));
        return data;
    });
    await page.dispatchEvent("main", "drop", { dataTransfer: transfer });
    await page.waitForSelector("#step-read .step__plates [data-figure]", { timeout: 120_000 });
    await page.waitForFunction(() => document.getElementById("busy")?.hidden, undefined, { timeout: 300_000 });
    await page.locator("#step-read .step__plates [data-figure]").first().click();
    await settled(page);
    const canvas = page.locator(".plate__room");
    await page.focus("input[type=range]");
    for (let k = 0; k < 3; k += 1) {
        await page.keyboard.press("+");
        await settled(page);
    }
    const box = await canvas.boundingBox();
    await page.keyboard.down("Shift");
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    const found = await canvas.evaluate(async (element) => {
        const { left, top, width, height } = element.getBoundingClientRect();
        const frame = () => new Promise((done) => requestAnimationFrame(done));
        const move = (x) => element.dispatchEvent(new PointerEvent("pointermove", {
            bubbles: true, pointerId: 1, pointerType: "mouse", shiftKey: true,
            clientX: left + x, clientY: top + height / 2,
        }));
        move(width / 2 + 1);
        for (let k = 0; k < 10; k += 1) await frame();
        globalThis.drawn.length = 0;
        const began = performance.now();
        for (let k = 0; performance.now() - began < 4000; k += 1) {
            move(width / 2 + 60 * Math.sin(k / 10));
            await frame();
        }
        const took = (performance.now() - began) / 1000;
        return { frames: globalThis.drawn.length / took, took };
    });
    await page.mouse.up();
    await page.keyboard.up("Shift");
    await seen.close();
    return found;
}

/** A log of 1 GB: the most memory of the page's process when it was read, and when all was done. */
async function gigabyte() {
    const folder = await mkdtemp(join(tmpdir(), "lodelog-bench-"));
    const path = join(folder, "gigabyte.csv");
    const file = await open(path, "w");
    await file.write("time,bx_nt,by_nt,bz_nt,temperature_degc\n");
    for (let second = 0, size = 0; size < 1e9; second += 3600) {
        const rows = Array.from({ length: 36_000 }, (_, at) => {
            const time = new Date(1_777_818_000_000 + 1000 * second + 100 * at).toISOString();
            return `${time},${17_000 + (at % 89)}.5,${(at >> 9) % 97}.5,${45_000 + (at % 83)}.5,11.5\n`;
        }).join("");
        size += rows.length;
        await file.write(rows);
    }
    await file.close();
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const began = performance.now();
    await page.setInputFiles("#picker", path);
    await page.waitForSelector("#step-read .step__remark", { timeout: 300_000 });
    const [read, readS] = [await pageMemory(browser), (performance.now() - began) / 1000];
    await page.waitForFunction(() => document.getElementById("busy")?.hidden, undefined, { timeout: 400_000 });
    const [all, allS] = [await pageMemory(browser), (performance.now() - began) / 1000];
    await seen.close();
    await rm(folder, { recursive: true });
    return { read, readS, all, allS };
}
