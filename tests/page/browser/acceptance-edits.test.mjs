// What an edit does: acceptance statements P19 to P22 of the project's contract, on the real engine.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { BUSY, openDemo } from "../lib/real.mjs";
import { remark, results, settled, type } from "../lib/read.mjs";

const { browser, server } = await begun();
const demo = await openDemo(browser, server);

const THRESHOLD = "#step-spikes-threshold";
const TILT = "#step-orient-tilt_sigma";

/** What the page shows of every step: remarks and results. */
async function shown(page) {
    const ids = await page.$$eval(".step", (all) => all.map((one) => one.id.slice("step-".length)));
    const told = [];
    for (const id of ids) told.push([id, await remark(page, id), await results(page, id)]);
    return told;
}

test("P19 typing out of range keeps the last result, names what is allowed, and Escape restores", async () => {
    const { page } = demo;
    const good = await shown(page);
    const value = await page.inputValue(THRESHOLD);
    await page.fill(THRESHOLD, "900");
    await page.waitForSelector(`${THRESHOLD}[aria-invalid=true]`);
    const told = await page.textContent(`${THRESHOLD}-refusal`);
    const range = await page.textContent(`${THRESHOLD}-hint`);
    const [low, high] = range.match(/\d[\d,.]*\d|\d/g);
    assert.ok(told.includes(low) && told.includes(high), `“${told}” does not name ${low} to ${high}`);
    const described = await page.getAttribute(THRESHOLD, "aria-describedby");
    assert.ok(described.includes("step-spikes-threshold-refusal"), described);
    assert.deepEqual(await shown(page), good);
    await page.press(THRESHOLD, "Escape");
    await page.waitForSelector(`${THRESHOLD}:not([aria-invalid])`);
    assert.equal(await page.inputValue(THRESHOLD), value);
    assert.equal(await page.locator(`${THRESHOLD}-refusal`).count(), 0);
    await settled(page);
    assert.deepEqual(await shown(page), good);
});

test("P20 5,5 and 5.5 mean the same, a minus of U+2212 counts, and 17,500 is answered in words", async () => {
    const { page } = demo;
    await type(page, "spikes", "threshold", "5,5");
    const comma = await shown(page);
    await type(page, "spikes", "threshold", "6");
    await type(page, "spikes", "threshold", "5.5");
    assert.deepEqual(await shown(page), comma);
    await type(page, "station", "longitude", "\u22123");
    assert.equal(await page.getAttribute("#step-station-longitude", "aria-invalid"), null);
    const minus = await results(page, "station");
    await type(page, "station", "longitude", "-3");
    assert.deepEqual(await results(page, "station"), minus);
    await page.fill("#step-station-height", "1,500");
    await page.waitForSelector("#step-station-height-refusal");
    const told = await page.textContent("#step-station-height-refusal");
    assert.match(told, /1\.5\b/);
    assert.match(told, /1500/);
    await page.press("#step-station-height", "Escape");
    await page.fill("#step-k-index-k9", "17,500");
    await page.waitForSelector("#step-k-index-k9-refusal");
    const answer = await page.textContent("#step-k-index-k9-refusal");
    assert.match(answer, /17\.5/);
    assert.match(answer, /17500/);
    await page.press("#step-k-index-k9", "Escape");
    await settled(page);
});

/** A short log with a vector, which runs in a moment. */
const short = () => {
    const rows = Array.from({ length: 240 }, (_, k) => {
        const time = new Date(Date.UTC(2026, 4, 1) + 60_000 * k).toISOString().slice(0, 19);
        return `${time}Z,${17_000 + (k % 7)},${-300 + (k % 5)},${45_000 + (k % 3)}\n`;
    });
    return `time,x_nT,y_nT,z_nT\n${rows.join("")}`;
};

/** The procedure as it is saved. */
async function procedure(page) {
    const saved = await downloaded(page, () => page.getByText("Save the procedure", { exact: true }).click());
    return JSON.parse(saved.bytes.toString("utf8"));
}

test("P21 after 120 commits, 100 undos and 100 redos the procedure is the same at each end", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await drop(page, "main", [{ name: "short.csv", bytes: short() }]);
    await page.waitForSelector(THRESHOLD);
    await settled(page);
    await page.evaluate(async (selector) => {
        const input = document.querySelector(selector);
        const pause = (ms) => new Promise((done) => setTimeout(done, ms));
        for (let k = 0; k < 120; k += 1) {
            const before = document.getElementById("undo").title;
            input.value = String(3 + (k + 1) / 10);
            input.dispatchEvent(new window.Event("input", { bubbles: true }));
            input.dispatchEvent(new window.KeyboardEvent("keydown", { key: "Enter", bubbles: true }));
            for (let waits = 0; waits < 500 && document.getElementById("undo").title === before; waits += 1) {
                await pause(5);
            }
        }
    }, THRESHOLD);
    await settled(page);
    /** Clicks a button of the bar and waits until the slot shows another value. */
    const press = (id) => page.evaluate(async ({ button, selector }) => {
        const input = document.querySelector(selector);
        for (let k = 0; k < 100; k += 1) {
            const before = input.value;
            document.getElementById(button).click();
            for (let waits = 0; waits < 500 && input.value === before; waits += 1) {
                await new Promise((done) => setTimeout(done, 5));
            }
            if (input.value === before) throw new Error(`${button} ${k + 1} changed nothing`);
        }
    }, { button: id, selector: THRESHOLD });
    const last = await procedure(page);
    await press("undo");
    await settled(page);
    const early = await procedure(page);
    assert.notDeepEqual(early, last);
    await press("redo");
    await settled(page);
    assert.deepEqual(await procedure(page), last);
    await press("undo");
    await settled(page);
    assert.deepEqual(await procedure(page), early);
    await seen.close();
});

test("P21 each undo says what it takes back", async () => {
    const { page } = demo;
    const before = await page.inputValue(TILT);
    await type(page, "orient", "tilt_sigma", "0.7");
    const told = await page.getAttribute("#undo", "title");
    assert.match(told, /^Undo: levelling uncertainty 0\.5° → 0\.7°/);
    await page.click("#undo");
    await page.waitForFunction(({ id, value }) => document.querySelector(id).value === value, { id: TILT, value: before });
    await settled(page);
});

test("P22 long work shows a rising fraction, and Cancel acts at once and leaves the results", async () => {
    const { page } = demo;
    const good = await shown(page);
    // Without averaging every later step runs on all 171,972 samples.
    const watched = page.evaluate(async () => {
        const bar = document.getElementById("busy-bar");
        // The bar counts from the start of the work and is shown after 300 ms, by when a quick
        // machine has little left: what it counted before belongs to the rise.
        bar.value = 0;
        const fractions = [];
        const began = performance.now();
        document.querySelector("[aria-label='Average: use this step']").click();
        let since = 0;
        while (performance.now() - began < 20_000) {
            await new Promise((done) => setTimeout(done, 10));
            fractions.push(bar.value);
            if (document.getElementById("busy").hidden) continue;
            since = performance.now() - began;
            break;
        }
        const pressed = performance.now();
        document.getElementById("cancel").click();
        while (!document.getElementById("busy").hidden && performance.now() - pressed < 10_000) {
            await new Promise((done) => setTimeout(done, 2));
        }
        return { fractions: [...new Set(fractions)], since, took: performance.now() - pressed };
    });
    const { fractions, since, took } = await watched;
    console.log(`P22: the bar came after ${since.toFixed(0)} ms; Cancel took ${took.toFixed(0)} ms; ${fractions.map((one) => one.toFixed(2))}`);
    assert.ok(fractions.length >= 3 && since > 0, `${fractions}`);
    assert.deepEqual(fractions, [...fractions].sort((a, b) => a - b), "the fraction rises");
    assert.ok(since <= 300 * BUSY, `${since} ms`);
    assert.ok(took <= 200 * BUSY, `${took} ms`);
    await settled(page);
    assert.deepEqual(await shown(page), good);
    await type(page, "orient", "tilt_sigma", "0.6");
    assert.match(await remark(page, "orient"), /./);
});

/** Drops an invented log of so many times 20,000 rows, and presses Cancel once the bar is so far. */
const dropAndGiveUp = (page, blocks, from) => page.evaluate(async ([blocks, from]) => {
    const row = (k) => `${1_777_593_600 + k},${20_000 + (k % 9)},${-9_800 + (k % 7)},${50_000 + (k % 5)}\n`;
    const block = Array.from({ length: 20_000 }, (_, k) => row(k)).join("");
    const file = new File(["time,x,y,z\n", ...Array(blocks).fill(block)], "long.csv");
    const transfer = new DataTransfer();
    transfer.items.add(file);
    const bar = document.getElementById("busy-bar");
    bar.value = 0;
    const seen = new Set();
    document.querySelector("main").dispatchEvent(new DragEvent("drop", { dataTransfer: transfer, bubbles: true }));
    const began = performance.now();
    // Once steps run, the log is shown as far as they went.
    const isShown = () => document.getElementById("procedure").textContent.includes("of long.csv");
    while ((seen.size < 2 || isShown() !== from > 0) && performance.now() - began < 20_000) {
        await new Promise((done) => setTimeout(done, 5));
        if (!document.getElementById("busy").hidden && bar.value >= from) seen.add(bar.value);
    }
    const pressed = performance.now();
    document.getElementById("cancel").click();
    while (!document.getElementById("busy").hidden && performance.now() - pressed < 10_000) {
        await new Promise((done) => setTimeout(done, 2));
    }
    return { fractions: [...seen], took: performance.now() - pressed };
}, [blocks, from]);

for (const [when, blocks, from] of [["is read", 400, 0], ["has its steps run", 100, 0.6]]) {
    test(`P22 a log that is given up while it ${when} leaves the one before it`, async () => {
        const { page } = demo;
        const good = await shown(page);
        const { fractions, took } = await dropAndGiveUp(page, blocks, from);
        console.log(`P22: while it ${when}, Cancel took ${took.toFixed(0)} ms; ${fractions.map((one) => one.toFixed(2))}`);
        assert.ok(fractions.length >= 2, `${fractions}`);
        assert.equal(fractions[1] >= 0.6, from > 0, `${fractions}`);
        assert.ok(took <= 200 * BUSY, `${took} ms`);
        await settled(page);
        assert.deepEqual(await shown(page), good);
    });
}

test("a first log that is given up while its steps run leaves the landing", async () => {
    const { page, close } = await visit(browser, server.url);
    await page.waitForFunction(() => document.documentElement.hasAttribute("data-started"));
    await dropAndGiveUp(page, 100, 0.6);
    await page.getByRole("button", { name: "Try the demo log" }).waitFor();
    assert.equal(await page.locator(".step:visible").count(), 0);
    await close();
});
