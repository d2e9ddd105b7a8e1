// Why: three sentences and a picture, asked for when the first one is opened.

import assert from "node:assert/strict";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import { audit } from "../lib/axe.mjs";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { demoShown } from "../lib/demo.mjs";
import { dist, oneFile } from "../lib/places.mjs";
import { serve } from "../lib/server.mjs";

const { browser, server } = await begun(serve(dist));

const later = (requests) => requests.filter((address) => /later-|pictures\//.test(address));

/** Opens every Why of the demo and waits for its picture. */
async function openAll(page) {
    const ids = await page.locator(".step").evaluateAll((steps) => steps.map(({ id }) => id));
    assert.ok(ids.length >= 10, `${ids.length} steps`);
    for (const id of ids) {
        await page.locator(`#${id} .why > summary`).click();
        await page.waitForSelector(`#${id} .why__picture svg path`);
    }
    return ids;
}

test("an opened Why shows its picture with words for it, and nothing of it is fetched before", async () => {
    // What keeps the page for use offline fetches all of it, in its own time.
    const seen = await visit(browser, `${server.url}#demo`, { serviceWorkers: "block" });
    const { page } = seen;
    await demoShown(page);
    assert.deepEqual(later(seen.requests), []);
    const ids = await openAll(page);
    assert.equal(later(seen.requests).length, 2, "the script and one sheet");
    for (const id of ids) {
        const picture = page.locator(`#${id} .why__picture`);
        assert.equal(await picture.getAttribute("role"), "img");
        assert.match(await picture.getAttribute("aria-label"), /^[A-Z].{25,}\.$/);
        const box = await picture.boundingBox();
        assert.ok(box.width > 150 && box.height > 75, `${id}: ${box.width} by ${box.height}`);
    }
    assert.deepEqual(await audit(page), []);
    const refused = seen.complaints.filter((text) => !/ServiceWorker|service worker/i.test(text));
    assert.deepEqual(refused, []);
    await seen.close();
});

test("pictures are drawn in ink and accent, light, dark and in forced colours", async () => {
    const seen = await visit(browser, `${server.url}#demo`);
    const { page } = seen;
    await demoShown(page);
    await page.locator("#step-spikes .why > summary").click();
    const line = page.locator("#step-spikes .sketch .a").first();
    await line.waitFor();
    const colour = () => line.evaluate((path) => getComputedStyle(path).stroke);
    const light = await colour();
    await page.emulateMedia({ colorScheme: "dark" });
    const dark = await colour();
    assert.notEqual(dark, light);
    await page.emulateMedia({ forcedColors: "active" });
    const ink = await page.locator("#step-spikes .sketch .d").first()
        .evaluate((path) => getComputedStyle(path).stroke);
    assert.notEqual(await colour(), ink, "Highlight is not CanvasText");
    await seen.close();
});

test("offline and in the one file the pictures are there as well", async () => {
    const stick = await visit(browser, pathToFileURL(oneFile).href);
    await stick.page.click("#demo");
    await demoShown(stick.page);
    await openAll(stick.page);
    assert.deepEqual(later(stick.requests), []);
    assertQuiet(stick);
    await stick.close();

    const seen = await visit(browser, server.url);
    await seen.page.waitForFunction(() => navigator.serviceWorker.controller !== null);
    await seen.context.setOffline(true);
    await seen.page.reload();
    await seen.page.click("#demo");
    await demoShown(seen.page);
    await openAll(seen.page);
    await seen.close();
});
