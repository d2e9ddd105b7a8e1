// The states of the real page: a log in which nothing moves, three sizes, two colours.

import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";
import { begun } from "../lib/begun.mjs";
import { assertQuiet, visit } from "../lib/browser.mjs";
import { downloaded, drop } from "../lib/files.mjs";
import { picture, settled } from "../lib/read.mjs";
import { photograph, SIZES, sidewaysScroll } from "../lib/screens.mjs";

const { browser, server } = await begun();

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

test("a page set from right to left keeps its figures and does not scroll sideways", async () => {
    const seen = await visit(browser, server.url);
    const { page } = seen;
    await page.click("#demo");
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
    const png = async () => (await downloaded(page, () =>
        page.getByRole("button", { name: "Save the figure as PNG" }).click())).bytes;
    const wide = { width: 1366, height: 768 };
    const drawn = async () => {
        // Drawn anew: the window becomes another, and then the same again.
        for (const size of [{ width: 1300, height: 700 }, wide]) {
            await page.setViewportSize(size);
            await settled(page);
        }
        return [await picture(page), await png()];
    };
    const [before, saved] = await drawn();
    await page.evaluate(() => { document.documentElement.dir = "rtl"; });
    const [after, savedThen] = await drawn();
    assert.equal(after, before, "the figure on screen");
    assert.ok(savedThen.equals(saved), "the figure as it is saved");
    for (const size of [...SIZES, { width: 320, height: 640 }]) {
        await page.setViewportSize(size);
        await settled(page);
        assert.equal(await sidewaysScroll(page), 0, `${size.width} px scrolls sideways`);
    }
    assertQuiet(seen);
    await seen.close();
});
