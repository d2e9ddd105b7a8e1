// The figure in hand comes before the steps after it are run, in the real engine.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { visit } from "../lib/browser.mjs";
import { settled } from "../lib/read.mjs";

const { browser, server } = await begun();

/** Keeps, in order, that a figure was asked for, that it came, and that a further step was done. */
function overhear(context) {
    return context.addInitScript(() => {
        globalThis.heard = [];
        const plans = new Set();
        globalThis.Worker = class extends Worker {
            constructor(...given) {
                super(...given);
                this.addEventListener("message", ({ data }) => {
                    if (plans.has(data.id)) globalThis.heard.push("figure");
                    else if ("progress" in data) globalThis.heard.push("step");
                });
            }

            postMessage(ask, ...more) {
                if (ask.type === "plan") {
                    plans.add(ask.id);
                    globalThis.heard.push("asked");
                }
                super.postMessage(ask, ...more);
            }
        };
    });
}

test("a number typed brings the figure in hand before the steps after it are run", async () => {
    const { page, close } = await visit(browser, `${server.url}#demo`, { prepare: overhear });
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
    await page.locator("#step-spikes .step__plates [data-figure]").first().click();
    await settled(page);
    const told = [];
    for (const number of ["7", "8", "9", "10", "11", "12"]) {
        await page.evaluate(() => { globalThis.heard = []; });
        await page.fill("#step-spikes-threshold", number);
        await page.press("#step-spikes-threshold", "Enter");
        await page.waitForFunction(() => globalThis.heard.includes("figure"));
        await settled(page);
        const heard = await page.evaluate(() => globalThis.heard.join(" "));
        told.push(heard);
    }
    // A page that is kept from asking for more than the 40 ms it is given gets its figure later.
    assert.ok(told.some((heard) => /^(step )+asked figure step/.test(heard)), told.join("\n"));
    await close();
});
