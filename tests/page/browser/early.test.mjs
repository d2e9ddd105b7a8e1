// What happens before the page is all there: a press before the scripts, an engine on a slow way,
// and a link whose numbers are the only ones shown.

import assert from "node:assert/strict";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { type } from "../lib/read.mjs";

const { browser, server } = await begun();

/** Holds a part of the page back until it is let go. */
async function held(context, part) {
    let go = () => undefined;
    const gone = new Promise((done) => { go = done; });
    await context.route(part, async (route) => {
        await gone;
        await route.continue();
    });
    return go;
}

/** A visit in which a part is on a slow way. */
async function slowly(part, options = {}) {
    let go = () => undefined;
    const prepare = async (context) => { go = await held(context, part); };
    const seen = await visit(browser, "about:blank", { ...options, prepare });
    await seen.page.goto(server.url, { waitUntil: "commit" });
    await seen.page.waitForSelector("#demo");
    return { ...seen, go };
}

test("the demo's button pressed before the scripts have come counts, and shows that it does", async () => {
    const seen = await slowly("**/app/main.js");
    const { page } = seen;
    await page.click("#demo", { noWaitAfter: true });
    await page.waitForSelector("#demo[aria-busy]");
    seen.go();
    await demoShown(page);
    assert.equal(await page.locator("[aria-busy]").count(), 0);
    assertQuiet(seen);
    await seen.close();
});

test("pressed while another language is on its way it counts as well, and once", async () => {
    const seen = await slowly("**/words/de.json", {
        storageState: { cookies: [], origins: [{
            origin: server.origin,
            localStorage: [{ name: "lodelog-speech", value: '{"language":"de","comma":true}' }],
        }] },
    });
    const { page } = seen;
    await page.waitForSelector("[data-started]");
    await page.click("#demo", { noWaitAfter: true });
    seen.go();
    await demoShown(page);
    assert.equal(await page.locator(".entry__name").count(), 2);
    assert.equal(await page.evaluate(() => document.documentElement.lang), "de");
    assertQuiet(seen);
    await seen.close();
});

test("while the engine is fetched that is told, and can be given up", async () => {
    const seen = await slowly("**/page_bg.wasm");
    const { page } = seen;
    await page.click("#demo", { noWaitAfter: true });
    await page.waitForSelector("#busy:not([hidden])");
    assert.equal(await page.textContent("#busy-what"), "Fetching the engine");
    await page.click("#cancel");
    await page.waitForSelector("#busy", { state: "hidden" });
    assert.match(await page.textContent("#status"), /Nothing was opened/);
    seen.go();
    await page.waitForTimeout(1000);
    assert.equal(await page.getAttribute("body", "data-view"), "landing");
    await page.click("#demo");
    await demoShown(page);
    assertQuiet(seen);
    await seen.close();
});

test("a link to the demo shows its own numbers from the first, never the proposed ones", async () => {
    const first = await visit(browser, `${server.url}#demo`);
    await demoShown(first.page);
    await type(first.page, "spikes", "threshold", "4.5");
    await first.page.getByText("Link and QR code").click();
    const link = await first.page.waitForFunction(() => document.querySelector(".share__link")?.textContent || false);
    const prepare = (context) => context.addInitScript(() => {
        window.shown = new Set();
        const look = () => {
            const slot = document.querySelector("#step-spikes-threshold");
            if (slot !== null) window.shown.add(slot.value);
            requestAnimationFrame(look);
        };
        look();
    });
    const second = await visit(browser, await link.jsonValue(), { prepare });
    await demoShown(second.page);
    await second.page.waitForFunction(() => document.querySelector("#step-spikes-threshold")?.value === "4.5");
    assert.deepEqual(await second.page.evaluate(() => [...window.shown]), ["4.5"]);
    assertQuiet(second);
    await first.close();
    await second.close();
});
