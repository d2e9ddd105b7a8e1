// The demo, an edit and what can be taken away: the journey that must work wherever the page is.

import assert from "node:assert/strict";
import { downloaded } from "./files.mjs";
import { settled } from "./read.mjs";

/**
 * Waits until every step of the demo has its results and figures.
 *
 * @param {import("playwright-core").Page | import("playwright-core").Frame} page
 */
export async function demoShown(page) {
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
}

/**
 * Demo, an edit that changes what is read, and each kind of file.
 *
 * @param {import("playwright-core").Page} page whose downloads are caught
 * @param {import("playwright-core").Page | import("playwright-core").Frame} [frame] where the
 *     page of ours is, when it is inside another
 */
export async function journey(page, frame = page) {
    await frame.click("#demo");
    await demoShown(frame);
    await edit(frame);
    const save = (name) => downloaded(page, () => frame.getByRole("button", { name }).click());
    const svg = await save("Save the figure as SVG");
    assert.match(svg.bytes.toString("utf8"), /^<\?xml|^<svg/);
    const png = await save("Save the figure as PNG");
    assert.deepEqual([...png.bytes.subarray(1, 4)], [0x50, 0x4e, 0x47]);
    const procedure = await save("Save the procedure");
    assert.ok(JSON.parse(procedure.bytes.toString("utf8")));
    const handIn = (await save("Save the hand-in")).bytes.toString("utf8");
    assert.match(handIn, /^<!doctype html>/i);
    assert.doesNotMatch(handIn, /<script/i);
    assert.match(handIn, /\b[0-9a-f]{64}\b/, "the log's hash");
    const zip = await save("Save everything as a zip");
    assert.equal(zip.bytes.toString("latin1", 0, 4), "PK\x03\x04");
    const processed = await save("Save the processed data");
    assert.match(processed.bytes.toString("utf8").slice(0, 100), /^# /);
}

/** Changes a number in a sentence, and waits until its remark has changed. */
export async function edit(frame) {
    const was = await frame.locator("#step-spikes-remark").textContent();
    const slot = frame.locator("#step-spikes-threshold");
    await slot.fill(String(Number(await slot.inputValue()) + 3));
    await slot.press("Enter");
    await frame.waitForFunction(
        (old) => document.querySelector("#step-spikes-remark")?.textContent !== old, was);
    await settled(frame);
}
