// The pictures of the README, taken from the real page; LODELOG_BLESS=1 keeps them in tests/pictures.

import assert from "node:assert/strict";
import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { launch, visit } from "../lib/browser.mjs";
import { out, root, www } from "../lib/places.mjs";
import { settled, takePlate } from "../lib/read.mjs";
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

const folder = process.env.LODELOG_BLESS ? join(root, "tests", "pictures") : out;

const PLATES = [
    { name: "spikes", step: "spikes", figure: "series" },
    { name: "calibration", step: "calibrate", figure: "calibration" },
    { name: "spectrum", step: "spectrum", figure: "spectrum" },
];

test("the pictures of the README can be taken from the page as it is", async () => {
    await mkdir(folder, { recursive: true });
    const seen = await visit(browser, server.url);
    const { page } = seen;
    const take = async (name) => {
        const bytes = await page.screenshot({ path: join(folder, `${name}.png`) });
        assert.ok(bytes.length > 10_000, `${name} is nearly blank`);
    };
    await take("landing");
    await page.click("#demo");
    await page.waitForSelector("#step-spectrum .results dd", { timeout: 60_000 });
    await settled(page);
    await take("demo");
    for (const { name, step, figure } of PLATES) {
        await takePlate(page, step, figure);
        await page.locator(`#step-${step}`).evaluate((element) => element.scrollIntoView({ block: "center" }));
        await settled(page);
        await take(name);
    }
    await page.emulateMedia({ colorScheme: "dark" });
    await page.setViewportSize({ width: 390, height: 844 });
    await page.locator("#step-calibrate").evaluate((element) => element.scrollIntoView({ block: "start" }));
    await settled(page);
    await take("phone-dark");
    await seen.close();
});
