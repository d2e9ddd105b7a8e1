// The helpers that drive a browser, tried on a page of a few lines.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, test } from "node:test";
import { assertAccessible, audit } from "../lib/axe.mjs";
import { assertQuiet, assertSameOrigin, launch, strangers, visit } from "../lib/browser.mjs";
import { downloaded, drop, paste } from "../lib/files.mjs";
import { plain } from "../lib/places.mjs";
import { readPng } from "../lib/png.mjs";
import { SIZES, photograph, sidewaysScroll } from "../lib/screens.mjs";
import { serve } from "../lib/server.mjs";

let browser;
let server;

before(async () => {
    server = await serve(plain);
    browser = await launch();
});

after(async () => {
    await browser?.close();
    await server?.close();
});

async function open(work) {
    const seen = await visit(browser, server.url);
    try {
        await work(seen);
    } finally {
        await seen.close();
    }
}

test("a dropped file arrives with its name and its bytes", () =>
    open(async (seen) => {
        await drop(seen.page, "#place", [{ name: "a b.csv", bytes: "1,2\n" }]);
        await seen.page.waitForFunction(() => document.getElementById("said").textContent !== "");
        assert.equal(await seen.page.textContent("#said"), "a b.csv: 1,2\n");
        assertQuiet(seen);
        assertSameOrigin(seen, server.origin);
    }));

test("pasted text arrives", () =>
    open(async ({ page }) => {
        await paste(page, "#place", "time,x");
        assert.equal(await page.textContent("#said"), "time,x");
    }));

test("a download comes with its name, and the picture says its size", () =>
    open(async ({ page }) => {
        const { name, bytes, path } = await downloaded(page, () => page.click("#picture"));
        assert.equal(name, "picture.png");
        assert.deepEqual(readPng(bytes), { width: 30, height: 20, perMetre: null });
        assert.deepEqual(await readFile(path), bytes);
    }));

test("a request to another origin is recorded, and so is the policy that stopped it", () =>
    open(async (seen) => {
        const other = await serve(plain);
        try {
            await seen.page.evaluate((address) => {
                document.getElementById("ask").dataset.address = address;
            }, `${other.url}x.png`);
            await seen.page.click("#ask");
            await seen.page.waitForFunction(
                () => document.getElementById("said").textContent === "refused",
            );
            const tried = strangers(seen.requests, server.origin);
            assert.ok(tried.length > 0 || seen.complaints.some((c) => c.includes("Content Security")));
            assert.throws(() => assertQuiet(seen));
            assert.deepEqual(other.asked, []);
        } finally {
            await other.close();
        }
    }));

test("the audit passes a plain page and finds a picture without words", () =>
    open(async ({ page }) => {
        await assertAccessible(page, "plain page");
        await page.evaluate(() => document.body.append(document.createElement("img")));
        const rules = (await audit(page)).map(({ rule }) => rule);
        assert.ok(rules.includes("image-alt"), rules.join());
    }));

test("photographs have the size of the window, and a page too wide is noticed", () =>
    open(async ({ page }) => {
        const files = await photograph(page, "plain");
        assert.equal(files.length, 2 * SIZES.length);
        const { width, height } = readPng(await readFile(files[0]));
        assert.deepEqual({ width, height }, SIZES[0]);
        assert.equal(await sidewaysScroll(page), 0);
        await page.evaluate(() => {
            document.body.style.width = "3000px";
        });
        assert.ok((await sidewaysScroll(page)) > 0);
    }));
