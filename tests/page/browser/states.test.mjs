// The states of the real page: a log in which nothing moves, three sizes, two colours.

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { after, before, test } from "node:test";
import { assertQuiet, launch, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { www } from "../lib/places.mjs";
import { picture, settled } from "../lib/read.mjs";
import { photograph, SIZES, sidewaysScroll } from "../lib/screens.mjs";
import { serve } from "../lib/server.mjs";

let browser;
let server;

before(async () => {
    server = await serve(www);
    browser = await launch();
});
after(async () => {
    await browser.close();
    await server.close();
});

const identical = () => `time,x,y,z\n${"2026-05-01T00:00:00Z,1,2,3\n".repeat(1_000_000)}`;

test("a million identical rows open, with a warning and their hash, and the page goes on", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const bytes = identical();
    await drop(page, "main", [{ name: "same.csv", bytes }]);
    await page.waitForSelector("#step-read .step__remark", { timeout: 60_000 });
    await settled(page);
    const text = await page.locator("main").textContent();
    assert.match(text, /unplugged|never changes|same value|stuck|repeat/i);
    // The browser hashes a log of this size, not the engine.
    const saved = await downloaded(page, () => page.getByText("Save the hand-in", { exact: true }).click());
    assert.ok(saved.bytes.toString("utf8").includes(createHash("sha256").update(bytes).digest("hex")));
    await seen.close();
});

test("landing, demo and every step's plate fit at each size, light and dark", async () => {
    const seen = await visit(browser, server.url);
    await photograph(seen.page, "landing");
    await seen.page.click("#demo");
    await seen.page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(seen.page);
    await photograph(seen.page, "demo");
    for (const size of [...SIZES, { width: 320, height: 640 }]) {
        await seen.page.setViewportSize(size);
        await settled(seen.page);
        assert.equal(await sidewaysScroll(seen.page), 0, `${size.width} px scrolls sideways`);
        const plates = await seen.page.locator(".step__plates button").all();
        for (const plate of plates) {
            await plate.click();
            await settled(seen.page);
            // An empty canvas of this size packs into far less.
            assert.ok((await picture(seen.page)).length > 6000, `an empty plate at ${size.width}`);
        }
    }
    assertQuiet(seen);
    await seen.close();
});
